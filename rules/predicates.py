"""What a condition means. This is the reference: every engine must agree with it.

Facts are complete and typed before they come here (`rules.intake`), so a fact that a condition
reads is always present and of its declared kind.
"""

from __future__ import annotations

from collections.abc import Mapping

from rules.conditions import All, Any, Condition, OneOf, Test, Value, Within

Facts = Mapping[str, Value]


def holds(condition: Condition, facts: Facts) -> bool:
    """Whether `condition` is true of `facts`. Raises KeyError for a fact that is not there."""
    match condition:
        case All(parts):
            return all(holds(part, facts) for part in parts)
        case Any(parts):
            return any(holds(part, facts) for part in parts)
        case OneOf() | Within():
            return test_holds(condition, facts[condition.fact])


def test_holds(test: Test, value: Value) -> bool:
    """Whether one test is true of the value of its fact."""
    match test:
        case OneOf(_, values, negated):
            return any(same(value, wanted) for wanted in values) != negated
        case Within(_, at_least, below, negated):
            number = float(value)
            inside = (at_least is None or number >= at_least) and (below is None or number < below)
            return inside != negated


def same(left: Value, right: Value) -> bool:
    """Equality that never takes a truth value for a number or a text for either."""
    return type(left) is type(right) and left == right


def first_failure(condition: Condition, facts: Facts) -> Condition | None:
    """The first part, in the order written, that keeps `condition` from holding; None if it holds.

    For alternatives of which none holds, the failure is the whole `Any`.
    """
    if holds(condition, facts):
        return None
    if isinstance(condition, All):
        for part in condition.parts:
            failed = first_failure(part, facts)
            if failed is not None:
                return failed
    return condition
