"""Reads `when` and `applies_when`."""

from __future__ import annotations

from math import isnan

from rules.conditions import All, Any, OneOf, Test, Value, Within
from rules.loading.fact_values import fact_named, value_of
from rules.loading.known import Known
from rules.loading.nodes import Items, Members, Node, Scalar, Spelling
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import items_of, members_of, number_of, without_repeats
from rules.places import Place
from rules.vocabulary import Fact, Kind


def when_of(node: Node, known: Known, report: Report) -> All:
    """A rule's condition; `always` is the one that has no parts."""
    if isinstance(node, Scalar) and node.spelling is Spelling.TEXT and node.text == "always":
        return All((), node.place)
    return block_of(node, "'when'", known, report)


def block_of(node: Node, what: str, known: Known, report: Report) -> All:
    """A block of lines that must all hold."""
    members = members_of(node, what, report)
    if members is node and not members.nodes:
        report.add("R108", node.place, f"{what} is empty; write a fact to test, or 'when: always' for a rule")
    parts: list[Test | Any] = []
    for name, value in members.nodes.items():
        place = members.keys[name]
        part = (
            _any_of(value, place, known, report)
            if name == "any"
            else _test_of(name, value, place, known, report)
        )
        if part is not None:
            parts.append(part)
    return All(tuple(parts), node.place)


def _any_of(node: Node, place: Place, known: Known, report: Report) -> Any:
    blocks = items_of(node, "'any'", report, least=1)
    return Any(tuple(block_of(block, "a block of 'any'", known, report) for block in blocks), place)


def _test_of(name: str, node: Node, place: Place, known: Known, report: Report) -> Test | None:
    fact = fact_named(name, place, known, report)
    if fact is None:
        return None
    if isinstance(node, Members) and "not" in node.nodes:
        denied = Row(node, f"the test of '{name}'", report, ["not"]).node("not")
        return _plain_test(fact, denied, True, place, report) if denied else None
    return _plain_test(fact, node, False, place, report)


def _plain_test(fact: Fact, node: Node, negated: bool, place: Place, report: Report) -> Test | None:
    if isinstance(node, Members):
        return _within(fact, node, negated, place, report)
    if fact.kind is Kind.NUMBER:
        if not (isinstance(node, Scalar) and node.spelling is Spelling.FAULTY):
            told = f"'{fact.name}' is a number and is not compared for equality"
            report.add(
                "R112", node.place, f"{told}; write {{at_least: ..., below: ...}} with {_cut_points(fact)}"
            )
        return None
    values = _values(fact, node, report)
    return OneOf(fact.name, values, negated, place) if values else None


def _values(fact: Fact, node: Node, report: Report) -> tuple[Value, ...]:
    what = f"the test of '{fact.name}'"
    items = items_of(node, what, report, least=1) if isinstance(node, Items) else (node,)
    read = [(item, value_of(fact, item, report)) for item in items]
    return without_repeats([(item, value) for item, value in read if value is not None], what, report)


def _within(fact: Fact, node: Members, negated: bool, place: Place, report: Report) -> Within | None:
    if fact.kind is not Kind.NUMBER:
        told = f"'{fact.name}' is no number and has no bounds"
        report.add("R114", node.place, f"{told}; write a value, a list of values, or {{not: ...}}")
        return None
    row = Row(node, f"the test of '{fact.name}'", report, (), ("at_least", "below"))
    at_least = _cut_point(fact, "at_least", row.node("at_least"), report)
    below = _cut_point(fact, "below", row.node("below"), report)
    if at_least is None and below is None:
        report.add("R108", node.place, f"the test of '{fact.name}' is empty; write at_least, below or both")
    if at_least is not None and below is not None and at_least >= below:
        told = f"no number is at least {at_least:g} and below {below:g}"
        report.add("R113", node.place, f"{told}; let 'at_least' be the smaller one")
    return Within(fact.name, at_least, below, negated, place)


def _cut_point(fact: Fact, name: str, node: Node | None, report: Report) -> float | None:
    if node is None:
        return None
    number = number_of(node, f"'{name}'", report)
    if not isnan(number) and number not in fact.cut_points:
        told = f"{number:g} is not a cut point of '{fact.name}'; use {_cut_points(fact)}"
        report.add("R111", node.place, f"{told}, or declare {number:g} in its 'cut_points'")
    return number


def _cut_points(fact: Fact) -> str:
    if not fact.cut_points:
        return "a cut point (none is declared)"
    return "one of its cut points " + ", ".join(f"{point:g}" for point in fact.cut_points)
