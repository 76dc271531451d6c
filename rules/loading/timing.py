"""Reads how long a stage takes, how long it waits, and the window that it opens."""

from __future__ import annotations

from rules.loading.known import Known
from rules.loading.nodes import Items, Node
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import number_of
from rules.pack import Kinetics, Wait, Window, Work


def work_of(node: Node | None, report: Report) -> Work:
    """Hands-on time; none where there is no node, which is reported elsewhere."""
    if node is None:
        return Work(0.0)
    row = Row(node, "'work'", report, ("fixed_min",), ("per_m2_min", "per_dm_min", "spread"))
    return Work(
        fixed_min=row.number("fixed_min", at_least=0),
        per_m2_min=row.number("per_m2_min", Work.per_m2_min, at_least=0),
        per_dm_min=row.number("per_dm_min", Work.per_dm_min, at_least=0),
        spread=row.number("spread", Work.spread, at_least=0, at_most=2),
    )


def wait_of(node: Node | None, report: Report) -> Wait:
    """The time before a dependent stage may start; none where there is no node."""
    if node is None:
        return Wait(0.0)
    scaled = ("at_c", "kinetics", "activation_kj_per_mol", "valid_c")
    row = Row(node, "'wait'", report, ("minutes",), scaled)
    kinetics = row.choice("kinetics", Kinetics) or Kinetics.FIXED
    if kinetics is not Kinetics.FIXED:
        row.require(*scaled)
    valid = _range(row, "valid_c", report)
    low, high = valid or (Wait.valid_from_c, Wait.valid_to_c)
    at_c = row.number("at_c", Wait.at_c)
    if valid and (at_c < low or at_c > high):
        told = f"'at_c' {at_c:g} lies outside 'valid_c' {low:g} to {high:g}; widen the range or move 'at_c'"
        report.add("R106", row.place_of("at_c"), told)
    return Wait(
        minutes=row.number("minutes", at_least=0),
        at_c=at_c,
        kinetics=kinetics,
        activation_kj_per_mol=row.number("activation_kj_per_mol", 0.0, at_least=0),
        valid_from_c=low,
        valid_to_c=high,
    )


def _range(row: Row, name: str, report: Report) -> tuple[float, float] | None:
    """A list of two numbers, the lower one first."""
    numbers = [number_of(item, f"an item of '{name}'", report) for item in row.items(name)]
    if len(numbers) != 2:
        if isinstance(row.node(name), Items):
            told = f"'{name}' must be two numbers, not {len(numbers)}; write [low, high]"
            report.add("R103", row.place_of(name), told)
        return None
    if numbers[0] > numbers[1]:
        told = f"'{name}' runs from {numbers[0]:g} back to {numbers[1]:g}; exchange them"
        report.add("R127", row.place_of(name), told)
        return None
    return numbers[0], numbers[1]


def window_of(node: Node | None, known: Known, report: Report) -> Window | None:
    """The window that a stage opens; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'window'", report, ("to", "not_before_min", "not_after_min", "if_missed"))
    window = Window(
        to=row.references("to", "stage", known.stage_names, "R116", least=1),
        not_before_min=row.number("not_before_min", at_least=0),
        not_after_min=row.optional_number("not_after_min", at_least=0),
        if_missed=row.optional_reference("if_missed", "stage", known.stage_names, "R116"),
    )
    if window.not_after_min is not None and window.not_before_min > window.not_after_min:
        told = f"'not_before_min' {window.not_before_min:g} is above 'not_after_min'"
        report.add("R127", row.place_of("not_before_min"), f"{told} {window.not_after_min:g}; exchange them")
    return window
