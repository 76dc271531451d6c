"""How much of the bounded tables of durable-rules an expression takes."""

from __future__ import annotations

from collections.abc import Iterator
from math import prod

from rules.engines.translate import Expression

SingleTest = tuple[str, str, int]
"""(operator, attribute, cell)."""


def ways(expression: Expression) -> int:
    """At most so many combinations of alternatives hold at once; a rule fires once for each.

    Equality tests of one attribute exclude each other, so they count once.
    """
    if "$and" in expression:
        return prod(ways(part) for part in expression["$and"])
    if "$or" in expression:
        equated = {_equated(branch) for branch in expression["$or"]} - {None}
        others = (branch for branch in expression["$or"] if _equated(branch) is None)
        return len(equated) + sum(ways(branch) for branch in others)
    return 1


def blocks(expression: Expression) -> int:
    """The number of `$and` and `$or` lists, at any depth."""
    parts = _parts(expression)
    return 0 if parts is None else 1 + sum(blocks(part) for part in parts)


def single_tests(expression: Expression) -> Iterator[SingleTest]:
    """Every test of one attribute, in the order written."""
    parts = _parts(expression)
    if parts is not None:
        for part in parts:
            yield from single_tests(part)
        return
    ((key, value),) = expression.items()
    if key.startswith("$"):
        ((attribute, cell),) = value.items()
        yield key, attribute, cell
    else:
        yield "$eq", key, value


def _parts(expression: Expression) -> list[Expression] | None:
    parts: list[Expression] | None = expression.get("$and", expression.get("$or"))
    return parts


def _equated(expression: Expression) -> str | None:
    """The attribute of an equality test, None for any other expression."""
    key = next(iter(expression))
    return None if key.startswith("$") else key
