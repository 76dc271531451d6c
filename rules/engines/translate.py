"""Conditions as durable-rules expressions.

Every value is the number of a cell (`rules.vocabulary`), a small whole number. Texts, truth values,
decimals and null never reach the library, which compares each of them wrongly in some case.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any as Json

from rules.conditions import All, Any, Condition, OneOf, Within
from rules.predicates import same
from rules.vocabulary import Fact, Kind, Vocabulary

Expression = dict[str, Json]
"""`{attribute: cell}`, `{operator: {attribute: cell}}`, or `$and` / `$or` of a list of expressions."""

ALWAYS: Expression = {"$and": []}
NEVER: Expression = {"$or": []}


def translated(condition: Condition, vocabulary: Vocabulary, attributes: Mapping[str, str]) -> Expression:
    """`condition` over cells; `attributes` maps facts to attribute names.

    ALWAYS and NEVER appear only as the whole. Raises ValueError for a test that cells can't express.
    """
    match condition:
        case All(parts):
            return all_of(translated(part, vocabulary, attributes) for part in parts)
        case Any(parts):
            return any_of(translated(part, vocabulary, attributes) for part in parts)
        case OneOf():
            return _membership(condition, vocabulary[condition.fact], attributes[condition.fact])
        case Within():
            return _interval(condition, vocabulary[condition.fact], attributes[condition.fact])


def all_of(parts: Iterable[Expression]) -> Expression:
    """All of `parts`, without nested `$and`, single tests before alternatives."""
    flat = _flattened("$and", parts)
    if NEVER in flat:
        return NEVER
    flat.sort(key=lambda part: "$or" in part)
    return flat[0] if len(flat) == 1 else {"$and": flat}


def any_of(parts: Iterable[Expression]) -> Expression:
    """At least one of `parts`, without nested `$or`."""
    flat = _flattened("$or", parts)
    if ALWAYS in flat:
        return ALWAYS
    return flat[0] if len(flat) == 1 else {"$or": flat}


def _flattened(operator: str, parts: Iterable[Expression]) -> list[Expression]:
    flat: list[Expression] = []
    for part in parts:
        for inner in part.get(operator, [part]):
            if inner not in flat:
                flat.append(inner)
    return flat


def _membership(test: OneOf, fact: Fact, attribute: str) -> Expression:
    if fact.kind is Kind.NUMBER:
        raise ValueError(f"number '{fact.name}' can be tested only against its cut points")
    cells = [
        cell for cell, member in enumerate(fact.domain) if any(same(member, wanted) for wanted in test.values)
    ]
    if test.negated:
        return all_of({"$neq": {attribute: cell}} for cell in cells)
    return any_of({attribute: cell} for cell in cells)


def _interval(test: Within, fact: Fact, attribute: str) -> Expression:
    bounds: list[tuple[str, str, float]] = []
    if test.at_least is not None:
        bounds.append(("$gte", "$lt", test.at_least))
    if test.below is not None:
        bounds.append(("$lt", "$gte", test.below))
    if test.negated:
        return any_of({outside: {attribute: _cell_from(fact, cut)}} for _, outside, cut in bounds)
    return all_of({inside: {attribute: _cell_from(fact, cut)}} for inside, _, cut in bounds)


def _cell_from(fact: Fact, cut: float) -> int:
    """The first cell at or above `cut`."""
    if cut not in fact.cut_points:
        raise ValueError(f"{cut:g} is not a cut point of '{fact.name}'")
    return fact.cell_of(cut)
