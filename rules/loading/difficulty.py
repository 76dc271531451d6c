"""Reads what makes the work of a stage harder."""

from __future__ import annotations

from rules.loading.fact_values import fact_named
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.phrases import did_you_mean, listed, quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import members_of, number_of
from rules.places import Place
from rules.vocabulary import Fact, Kind, Origin

HARDEST = 5.0
"""A factor above this is a slip of the pen; such work is a stage of its own."""


def harder_of(row: Row, known: Known, report: Report) -> dict[str, dict[str, float]]:
    """Fact -> value -> factor; the value of a truth value that holds is written `true`."""
    factors: dict[str, dict[str, float]] = {}
    for name, place, node in row.members("harder"):
        fact = fact_named(name, place, known, report)
        if fact is not None and _can_be_told(fact, place, report):
            factors[name] = _factors(fact, node, report)
    return factors


def _can_be_told(fact: Fact, place: Place, report: Report) -> bool:
    """Whether the fact is known with the line item and has values that can be listed."""
    if fact.origin is Origin.RULES:
        told = f"'{fact.name}' is concluded by rules; work is harder by what the line item or the table says"
        report.add("R115", place, f"{told}; name such a fact")
        return False
    if fact.kind is Kind.NUMBER:
        told = f"'{fact.name}' is a number; work is harder by an enumeration or a truth value"
        report.add("R103", place, f"{told}; name such a fact, or use 'per_m2_min' or 'per_dm_min'")
        return False
    return True


def _factors(fact: Fact, node: Node, report: Report) -> dict[str, float]:
    if fact.kind is Kind.BOOLEAN:
        return {"true": _factor(node, f"'{fact.name}'", report)}
    members = members_of(node, f"'{fact.name}'", report)
    for value in members.nodes:
        if value not in fact.values:
            hint = did_you_mean(value, fact.values) or f"; known: {listed(fact.values)}"
            report.add("R110", members.keys[value], f"{quoted(value)} is no value of '{fact.name}'{hint}")
    return {value: _factor(each, quoted(value), report) for value, each in members.nodes.items()}


def _factor(node: Node, what: str, report: Report) -> float:
    return number_of(node, f"the factor of {what}", report, at_least=1, at_most=HARDEST)
