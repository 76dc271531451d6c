"""Reads the place in which a material may be applied, and the place that a stage makes."""

from __future__ import annotations

from rules.loading.nodes import Members, Node
from rules.loading.report import Report
from rules.loading.row import Row
from rules.pack import Application, Climate

_MEMBERS = ("air_c", "surface_c", "humidity_pct", "dew_margin_k")


def application_of(node: Node | None, report: Report) -> Application | None:
    """The place in which a material may be applied; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'application'", report, (*_MEMBERS, "source"))
    return Application(
        air_c=row.interval("air_c") or (0.0, 0.0),
        surface_c=row.interval("surface_c") or (0.0, 0.0),
        humidity_pct=row.interval("humidity_pct", at_least=0, at_most=100) or (0.0, 0.0),
        dew_margin_k=row.number("dew_margin_k", at_least=0),
        source=row.text("source"),
    )


def climate_of(node: Node | None, report: Report) -> Climate | None:
    """The place once a stage has made it fit; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'brings'", report, (), _MEMBERS)
    if isinstance(node, Members) and not node.nodes:
        told = f"'brings' says nothing; write at least one of {', '.join(_MEMBERS)}, or take it away"
        report.add("R108", row.place, told)
    return Climate(
        air_c=row.optional_number("air_c"),
        surface_c=row.optional_number("surface_c"),
        humidity_pct=row.optional_number("humidity_pct", at_least=0, at_most=100),
        dew_margin_k=row.optional_number("dew_margin_k", at_least=0),
    )
