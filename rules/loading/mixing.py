"""Reads what a material is mixed from, and what follows from it."""

from __future__ import annotations

from collections.abc import Sequence

from rules.amounts import MIXING_ORDER, Role
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.phrases import quoted
from rules.loading.quantities import packages_of
from rules.loading.report import Report
from rules.loading.row import Row
from rules.pack import Component

LEAST_PARTS, MOST_PARTS = 0.001, 1000.0
LIGHTEST, HEAVIEST = 0.5, 5.0
"""Bounds of a density in g/ml; what is lighter or heavier is a slip of the point."""

_REQUIRED = ("id", "title", "parts", "density_g_per_ml", "voc_g_per_l", "role")
_OPTIONAL = ("water_pct", "exempt_pct", "exempt_density_g_per_ml", "only_with", "packages_ml")


def mix_of(row: Row, known: Known, report: Report) -> tuple[Component, ...]:
    """The components in the order in which they go in: base, additive, hardener, reducer."""
    nodes = row.items("mix", least=1) if "mix" in row else ()
    mix = tuple(_component(node, known, report) for node in nodes)
    _check_order(mix, nodes, report)
    return mix


def always_joined(mix: Sequence[Component]) -> tuple[Component, ...]:
    """The components that do not hang on a stage."""
    return tuple(component for component in mix if component.only_with is None)


def by_volume(mix: Sequence[Component], figures: Sequence[float]) -> float | None:
    """The figure of what is mixed from components with `figures`; None where nothing is. Volumes add up."""
    parts = sum(component.parts for component in mix)
    if not parts:
        return None
    return sum(each.parts * figure for each, figure in zip(mix, figures, strict=True)) / parts


def _component(node: Node, known: Known, report: Report) -> Component:
    row = Row(node, "an item of 'mix'", report, _REQUIRED, _OPTIONAL)
    if row.number("exempt_pct", 0.0) > 0:
        row.require("exempt_density_g_per_ml")
    role = row.choice("role", Role)
    if role is Role.BASE and "only_with" in row:
        told = "a base goes into every mix; take 'only_with' away"
        report.add("R101", row.place_of("only_with"), told)
    component = Component(
        id=row.name("id"),
        title=row.text("title"),
        parts=row.number("parts", at_least=LEAST_PARTS, at_most=MOST_PARTS),
        density_g_per_ml=row.number("density_g_per_ml", at_least=LIGHTEST, at_most=HEAVIEST),
        voc_g_per_l=row.number("voc_g_per_l", at_least=0),
        role=role.value if role else "",
        water_pct=row.number("water_pct", 0.0, at_least=0, at_most=100),
        exempt_pct=row.number("exempt_pct", 0.0, at_least=0, at_most=100),
        exempt_density_g_per_ml=row.optional_number("exempt_density_g_per_ml", LIGHTEST, HEAVIEST),
        only_with=row.optional_reference("only_with", "stage", known.stage_names, "R116"),
        packages_ml=packages_of(row, report),
    )
    _check_share(component, row, report)
    return component


def _check_share(component: Component, row: Row, report: Report) -> None:
    taken = component.water_pct + component.exempt_pct
    if taken > 100:
        told = f"'water_pct' and 'exempt_pct' make {taken:g} % of the volume; write no more than 100 together"
        report.add("R106", row.place_of("exempt_pct"), told)
    litre_g = component.density_g_per_ml * 1000
    if component.voc_g_per_l > litre_g:
        told = f"'voc_g_per_l' is {component.voc_g_per_l:g}, but a litre weighs {litre_g:g} g; write less"
        report.add("R106", row.place_of("voc_g_per_l"), told)


def _check_order(mix: Sequence[Component], nodes: Sequence[Node], report: Report) -> None:
    """A base first, then additive before hardener before reducer; each of them once."""
    if mix and mix[0].role not in ("", Role.BASE.value):
        told = f"{quoted(mix[0].id)} goes in first but is no base; begin with the base"
        report.add("R137", nodes[0].place, told)
        return
    seen: set[str] = set()
    last = 0
    for component, node in zip(mix, nodes, strict=True):
        if component.id and component.id in seen:
            report.add("R109", node.place, f"'mix' has {quoted(component.id)} twice; take one away")
        seen.add(component.id)
        if not component.role:
            continue
        turn = MIXING_ORDER.index(component.role)
        if turn < last:
            told = f"the {component.role} {quoted(component.id)} goes in before the {MIXING_ORDER[last]}"
            report.add("R137", node.place, f"{told}; put it there")
        last = max(last, turn)
