"""Reads in what sizes a material is bought, what of it is lost, and what a stage takes of it."""

from __future__ import annotations

from math import isnan

from rules.amounts import FIGURES, Amount, Loss, Shape
from rules.loading.grades import P_GRADES
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.phrases import did_you_mean, quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import number_of, without_repeats
from rules.pack import Stage

SMALLEST_ML, LARGEST_ML = 5.0, 250_000.0
MOST_SIZES = 6


def packages_of(row: Row, report: Report) -> tuple[float, ...]:
    """The sizes that something is bought in, in whole millilitres, each once, smallest first."""
    items = row.items("packages_ml")
    if len(items) > MOST_SIZES:
        told = f"'packages_ml' has {len(items)} sizes; write at most {MOST_SIZES}, those that are stocked"
        report.add("R106", row.place_of("packages_ml"), told)
    sizes = without_repeats([(item, _size(item, report)) for item in items], "'packages_ml'", report)
    return tuple(sorted(sizes))


def _size(item: Node, report: Report) -> float:
    size = number_of(item, "a size of 'packages_ml'", report, SMALLEST_ML, LARGEST_ML)
    if not isnan(size) and not size.is_integer():
        report.add("R106", item.place, f"a size of 'packages_ml' is {size:g}; write whole millilitres")
    return size


def losses_of(row: Row, report: Report) -> tuple[Loss, ...]:
    """What is used up without getting onto the part."""
    return tuple(_loss(item, report) for item in row.items("losses"))


def _loss(node: Node, report: Report) -> Loss:
    row = Row(node, "an item of 'losses'", report, ("what", "source"), ("ml", "pct"))
    if "ml" not in row and "pct" not in row:
        told = "an item of 'losses' says not how much; write 'ml' or 'pct'"
        report.add("R102", row.place, told)
    return Loss(
        what=row.text("what"),
        source=row.text("source"),
        ml=row.number("ml", 0.0, at_least=0, at_most=1000),
        pct=row.number("pct", 0.0, at_least=0, at_most=100),
    )


def amounts_of(row: Row, known: Known, report: Report) -> tuple[Amount, ...]:
    """What a stage takes of its materials."""
    return tuple(_amount(item, known, report) for item in row.items("amounts"))


def check_amounts(stage: Stage, row: Row, report: Report) -> None:
    """A stage says how much only of what it uses."""
    for amount, item in zip(stage.amounts, row.items("amounts"), strict=True):
        if amount.material and amount.material not in stage.materials:
            told = f"'amounts' speaks of {quoted(amount.material)}, which the stage does not use"
            hint = did_you_mean(amount.material, stage.materials) or "; add it to 'materials'"
            report.add("R119", item.place, told + hint)


def _amount(node: Node, known: Known, report: Report) -> Amount:
    every = {name: None for figures in FIGURES.values() for name in figures}
    first = Row(node, "an item of 'amounts'", report, ("material", "shape"), ("grade", *every))
    shape = first.choice("shape", Shape)
    figures = FIGURES[shape] if shape else {}
    for name in every:
        if shape and name in first and name not in figures:
            told = f"the shape {quoted(shape.value)} has no {quoted(name)}"
            report.add("R101", first.place_of(name), told + did_you_mean(name, figures))
    first.require(*(name for name, value in figures.items() if value is None))
    most = {"angle_deg": 179.0, "layers": 20.0}
    return Amount(
        material=first.reference("material", "material", known.materials, "R119"),
        shape=shape or Shape.PIECES,
        figures={
            name: first.number(name, 0.0 if value is None else float(value), 0, most.get(name, 100_000.0))
            for name, value in figures.items()
        },
        grade=_grade(first, report),
    )


def _grade(row: Row, report: Report) -> str | None:
    grade = row.text("grade") if "grade" in row else ""
    if grade and grade not in P_GRADES:
        told = f"'grade' is {quoted(grade)}, no P-grade{did_you_mean(grade, P_GRADES)}"
        report.add("R128", row.place_of("grade"), told)
    return grade or None
