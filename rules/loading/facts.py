"""Reads the vocabulary."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from rules.conditions import Value, tests_in
from rules.loading.conditions import block_of
from rules.loading.fact_values import value_of
from rules.loading.known import Known
from rules.loading.nodes import Members
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import Joint, checked_name, choice_of, choices_of, name_of, number_of, text_of
from rules.vocabulary import Fact, Kind, Origin

_COMMON = ("origin", "given_as", "default", "applies_when", "otherwise")
_OF_KIND = {
    Kind.ENUMERATION: (("values",), ()),
    Kind.BOOLEAN: ((), ()),
    Kind.NUMBER: (("minimum", "maximum"), ("unit", "cut_points")),
}
# RFC 6901, JSON Pointer: `~` only as `~0` or `~1`. The whole document is no fact.
_POINTER = re.compile(r"(?:/(?:[^/~]|~[01])+)+")
_RESERVED = ("any", "material")


def facts_of(entries: Mapping[str, Entry], report: Report) -> dict[str, Fact]:
    """The facts that could be read, by name, in the order declared."""
    read = {name: _unconditional(entry, report) for name, entry in entries.items()}
    facts = {name: fact for name, fact in read.items() if fact is not None}
    known = Known(fact_names=entries.keys(), facts=facts)
    conditional = {name for name in facts if "applies_when" in entries[name].node.nodes}
    conditioned: dict[str, Fact] = {}
    for name in sorted(conditional):
        condition = block_of(entries[name].node.nodes["applies_when"], "'applies_when'", known, report)
        for test in tests_in(condition):
            if facts[test.fact].origin is Origin.RULES or test.fact in conditional:
                told = f"'{name}' hangs on '{test.fact}', which is derived or does not always apply"
                report.add("R124", test.place, f"{told}; test a fact of the line item that always applies")
        conditioned[name] = replace(facts[name], applies_when=condition)
    return facts | conditioned


def _unconditional(entry: Entry, report: Report) -> Fact | None:
    what = f"the fact {quoted(entry.name)}"
    kind = _kind_of(entry, what, report)
    if kind is None:
        return None
    required, optional = _OF_KIND[kind]
    row = Row(
        entry.node, f"{what} ({kind.value})", report, ("about", "kind", *required), (*_COMMON, *optional)
    )
    fact = Fact(
        name=_name(entry, report),
        kind=kind,
        origin=row.choice("origin", Origin) or Origin.LINE_ITEM,
        about=row.text("about"),
        values=_values(row, report),
        unit=row.text("unit") or None,
        minimum=row.number("minimum", 0.0),
        maximum=row.number("maximum", 0.0),
        given_as=_pointer(row, report),
        place=entry.place,
    )
    fact = replace(fact, cut_points=_cut_points(fact, row, report), otherwise=_otherwise(fact, row, report))
    fact = replace(fact, default=_default(fact, row, report))
    _check_members_of_origin(fact, row, report)
    return fact if _has_domain(fact, row, report) else None


def _has_domain(fact: Fact, row: Row, report: Report) -> bool:
    """Whether there is any value at all; without, none could be told right from wrong."""
    if fact.kind is Kind.ENUMERATION and not fact.values:
        if isinstance(row.node("values"), Members):
            told = "an enumeration needs at least one member; write 'name: what it means'"
            report.add("R108", row.place_of("values"), told)
        return False
    if fact.minimum > fact.maximum:
        told = f"'minimum' {fact.minimum:g} is above 'maximum' {fact.maximum:g}; exchange them"
        report.add("R127", row.place_of("minimum"), told)
        return False
    return True


def _kind_of(entry: Entry, what: str, report: Report) -> Kind | None:
    """Read before all else, because it says which other members there may be."""
    node = entry.node.nodes.get("kind")
    if node is None:
        report.add("R102", entry.node.place, f"{what} lacks 'kind'; add the line 'kind: ...'")
        return None
    return choice_of(node, "'kind'", choices_of(Kind), report)


def _name(entry: Entry, report: Report) -> str:
    if entry.name in _RESERVED:
        told = f"{quoted(entry.name)} has a meaning of its own in conditions or cases; find another name"
        report.add("R104", entry.place, told)
    checked_name(entry.name, entry.place, "the name", Joint.SNAKE, report)
    return entry.name


def _values(row: Row, report: Report) -> dict[str, str]:
    values: dict[str, str] = {}
    for name, place, node in row.members("values"):
        checked_name(name, place, "the member", Joint.SNAKE, report)
        values[name] = text_of(node, f"the meaning of {quoted(name)}", report)
    return values


def _pointer(row: Row, report: Report) -> str | None:
    pointer = row.text("given_as")
    if pointer and not _POINTER.fullmatch(pointer):
        told = f"{quoted(pointer)} is no JSON pointer; write one such as /damage/length_mm"
        report.add("R130", row.place_of("given_as"), told)
    return pointer or None


def _cut_points(fact: Fact, row: Row, report: Report) -> tuple[float, ...]:
    points: list[float] = []
    for node in row.items("cut_points"):
        point = number_of(node, "a cut point", report)
        if points and point <= points[-1]:
            told = f"{point:g} does not come after {points[-1]:g}; let cut points ascend, each once"
            report.add("R126", node.place, told)
        elif point <= fact.minimum or point > fact.maximum:
            told = f"{point:g} cuts nothing off; write one above {fact.minimum:g} and up to {fact.maximum:g}"
            report.add("R126", node.place, told)
        points.append(point)
    return tuple(points)


def _otherwise(fact: Fact, row: Row, report: Report) -> Value | None:
    """An enumeration may have a member for the case alone that the fact does not apply."""
    node = row.node("otherwise")
    if node is None:
        return None
    if fact.kind is Kind.ENUMERATION:
        return name_of(node, "'otherwise'", Joint.SNAKE, report)
    return value_of(fact, node, report)


def _default(fact: Fact, row: Row, report: Report) -> Value | None:
    node = row.node("default")
    if node is None:
        return None
    return value_of(replace(fact, otherwise=None), node, report)


def _check_members_of_origin(fact: Fact, row: Row, report: Report) -> None:
    """Which members a fact needs and which it may not have follows from who states it."""
    told = f"'{fact.name}', whose origin is {fact.origin.value},"
    needed = {Origin.LINE_ITEM: ("given_as",), Origin.SUBSTRATE: (), Origin.RULES: ("default",)}
    barred = {
        Origin.LINE_ITEM: (),
        Origin.SUBSTRATE: ("given_as", "default", "applies_when", "otherwise"),
        Origin.RULES: ("given_as", "applies_when", "otherwise"),
    }
    for name in needed[fact.origin]:
        if name not in row:
            report.add("R125", row.place, f"{told} needs '{name}'; add the line '{name}: ...'")
    for name in barred[fact.origin]:
        if name in row:
            report.add("R125", row.place_of(name), f"{told} has no '{name}'; take it away")
    pair = ("applies_when", "otherwise")
    for name, other in (pair, pair[::-1]):
        if name in row and other not in row:
            report.add(
                "R125", row.place_of(name), f"{told} has '{name}' and needs '{other}' beside it; add it"
            )
