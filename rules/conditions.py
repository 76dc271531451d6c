"""The shape of a rule's `when`: tests of single facts, joined by all and any.

What a condition means is stated once, in `rules.predicates`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from rules.places import NOWHERE, Place

Value = str | bool | float
"""A typed fact value: enumeration member, truth value, or number (always a float, never an int)."""


@dataclass(frozen=True)
class OneOf:
    """The fact has one of `values`; with `negated`, none of them."""

    fact: str
    values: tuple[Value, ...]
    negated: bool = False
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Within:
    """The number is at least `at_least` and below `below`; with `negated`, it is outside.

    Either bound may be None, not both. Bounds are declared cut points of the fact.
    """

    fact: str
    at_least: float | None
    below: float | None
    negated: bool = False
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class All:
    """Every part holds. `All(())` always holds."""

    parts: tuple[Condition, ...]
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Any:
    """At least one part holds. `Any(())` never holds; the loader refuses it."""

    parts: tuple[Condition, ...]
    place: Place = field(default=NOWHERE, compare=False)


Test = OneOf | Within
Condition = OneOf | Within | All | Any


def tests_in(condition: Condition) -> Iterator[Test]:
    """Every test of a single fact, in the order written."""
    if isinstance(condition, (All, Any)):
        for part in condition.parts:
            yield from tests_in(part)
    else:
        yield condition


def facts_read(condition: Condition) -> frozenset[str]:
    """The names of the facts a condition reads."""
    return frozenset(test.fact for test in tests_in(condition))
