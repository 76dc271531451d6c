"""Reads rows of the substrate table."""

from __future__ import annotations

import re
from collections.abc import Mapping

from rules.conditions import Value
from rules.loading.fact_values import values_by_fact
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.phrases import did_you_mean, listed, quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import members_of
from rules.pack import SUBSTRATE_FIGURES, Figure, Substrate
from rules.vocabulary import Origin

_REQUIRED = ("symbol", "name", "properties", "source")
_OPTIONAL = ("aliases", "typical_parts", "figures", "notes")
# Letters and digits with the joints of ISO 1043-1, ISO 1629 and ISO 18064.
_SYMBOL = re.compile(r"[A-Z][A-Za-z0-9]*(?:[-+/.,(]+[A-Za-z0-9]+\)?)*|unknown")


def substrate_of(entry: Entry, known: Known, report: Report) -> Substrate:
    """One row: every fact whose origin is the substrate, no more and no less."""
    row = Row(entry.node, f"the substrate {quoted(entry.name)}", report, _REQUIRED, _OPTIONAL)
    return Substrate(
        symbol=_symbol(row, report),
        name=row.text("name"),
        properties=_properties(row, known, report),
        aliases=row.texts("aliases"),
        typical_parts=row.texts("typical_parts"),
        notes=row.texts("notes"),
        figures=_figures(row, report),
        source=row.text("source"),
        place=entry.place,
    )


def _symbol(row: Row, report: Report) -> str:
    symbol = row.text("symbol")
    if symbol and not _SYMBOL.fullmatch(symbol):
        told = f"{quoted(symbol)} is no symbol of a material; write one such as PP+EPDM-T20, or unknown"
        report.add("R104", row.place_of("symbol"), told)
    return symbol


def _properties(row: Row, known: Known, report: Report) -> Mapping[str, Value]:
    node = row.node("properties")
    if node is None:
        return {}
    members = members_of(node, "'properties'", report)
    wanted = {fact.name for fact in known.facts.values() if fact.origin is Origin.SUBSTRATE}
    missing = wanted - members.nodes.keys()
    if missing and members is node:
        report.add("R122", node.place, f"'properties' lacks {listed(missing)}; state every substrate fact")
    return values_by_fact(members, Origin.SUBSTRATE, known, report)


def _figures(row: Row, report: Report) -> dict[str, Figure]:
    figures: dict[str, Figure] = {}
    for name, place, node in row.members("figures"):
        if name not in SUBSTRATE_FIGURES:
            report.add("R105", place, f"unknown figure {quoted(name)}{did_you_mean(name, SUBSTRATE_FIGURES)}")
        figures[name] = _figure(node, name, report)
    return figures


def _figure(node: Node, name: str, report: Report) -> Figure:
    row = Row(node, f"'{name}'", report, ("low", "high", "evidence"))
    figure = Figure(row.number("low"), row.number("high"), row.text("evidence"))
    if figure.low > figure.high:
        told = f"'{name}' runs from {figure.low:g} back to {figure.high:g}; exchange 'low' and 'high'"
        report.add("R127", row.place_of("low"), told)
    return figure
