"""Reads the name of a fact and a value of it, wherever a pack states one."""

from __future__ import annotations

from rules.conditions import Value
from rules.loading.known import Known
from rules.loading.nodes import Members, Node
from rules.loading.phrases import did_you_mean, listed, quoted
from rules.loading.report import Report
from rules.loading.values import boolean_of, is_known, number_of, text_of
from rules.places import Place
from rules.vocabulary import Fact, Kind, Origin

_ORIGINS = {
    Origin.LINE_ITEM: "given with a line item",
    Origin.SUBSTRATE: "a property in the substrate table",
    Origin.RULES: "concluded by rules",
}


def fact_named(name: str, place: Place, known: Known, report: Report) -> Fact | None:
    """The fact of that name; None where there is none, or where its own declaration is at fault."""
    is_known(name, place, "fact", known.fact_names, "R012", report)
    return known.facts.get(name)


def value_of(fact: Fact, node: Node, report: Report) -> Value | None:
    """A value of `fact` in its type; None where the node does not hold one."""
    what = f"'{fact.name}'"
    if fact.kind is Kind.BOOLEAN:
        return boolean_of(node, what, report)
    if fact.kind is Kind.NUMBER:
        return number_of(node, what, report, fact.minimum, fact.maximum)
    text = text_of(node, what, report)
    if not text or text in fact.values or text == fact.otherwise:
        return text or None
    members = [str(member) for member in fact.domain]
    hint = did_you_mean(text, members) or f"; known: {listed(members)}"
    report.add("R110", node.place, f"{quoted(text)} is no value of {what}{hint}")
    return None


def values_by_fact(members: Members, origin: Origin, known: Known, report: Report) -> dict[str, Value]:
    """A mapping of facts of one origin to their values."""
    values: dict[str, Value] = {}
    for name, node in members.nodes.items():
        place = members.keys[name]
        fact = fact_named(name, place, known, report)
        if fact is None:
            continue
        if fact.origin is not origin:
            told = f"'{name}' is {_ORIGINS[fact.origin]}; here stand only facts {_ORIGINS[origin]}"
            report.add("R115", place, f"{told}; take it away, or change its 'origin'")
            continue
        value = value_of(fact, node, report)
        if value is not None:
            values[name] = value
    return values
