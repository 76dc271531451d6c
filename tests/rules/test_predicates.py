"""What a condition means."""

from __future__ import annotations

import pytest
import strategies
from hypothesis import given
from hypothesis import strategies as st
from strategies import boolean, enumeration, number

from rules.conditions import All, Any, Condition, OneOf, Value, Within, facts_read
from rules.predicates import first_failure, holds, same

FACTS = [
    enumeration("kind", "a", "b", "c", otherwise="none"),
    boolean("wet"),
    number("amount", 0.0, 100.0, 10.0, 50.0),
]
VALUES = st.fixed_dictionaries({fact.name: strategies.values_of(fact) for fact in FACTS})
CONDITIONS = strategies.conditions(FACTS)


@pytest.mark.parametrize(
    ("value", "holds_of_it"),
    [(9.999, False), (10.0, True), (49.999, True), (50.0, False)],
)
def test_a_range_holds_from_its_lower_bound_to_just_below_its_upper(value: float, holds_of_it: bool) -> None:
    facts = {"amount": value}
    assert holds(Within("amount", 10.0, 50.0), facts) is holds_of_it
    assert holds(Within("amount", 10.0, 50.0, negated=True), facts) is not holds_of_it


@pytest.mark.parametrize(("value", "expected"), [(9.0, (False, True)), (10.0, (True, False))])
def test_a_range_may_be_open_at_either_end(value: float, expected: tuple[bool, bool]) -> None:
    facts = {"amount": value}
    assert (
        holds(Within("amount", 10.0, None), facts),
        holds(Within("amount", None, 10.0), facts),
    ) == expected


def test_a_range_that_ends_before_it_begins_never_holds() -> None:
    assert not any(holds(Within("amount", 50.0, 10.0), {"amount": each}) for each in (0.0, 10.0, 30.0, 50.0))


@pytest.mark.parametrize(
    ("left", "right"), [(True, 1.0), (False, 0.0), ("1", 1.0), ("true", True), ("", False), ("0", 0.0)]
)
def test_values_of_different_kinds_are_never_the_same(left: Value, right: Value) -> None:
    assert not same(left, right)
    assert not same(right, left)
    assert same(left, left)
    assert not holds(OneOf("it", (left,)), {"it": right})
    assert holds(OneOf("it", (left,), negated=True), {"it": right})


def test_nothing_asked_always_holds_and_no_alternative_never_does() -> None:
    assert holds(All(()), {})
    assert not holds(Any(()), {})


@pytest.mark.parametrize("condition", [OneOf("wet", (True,)), Within("amount", 10.0, None, negated=True)])
def test_a_fact_that_is_not_there_is_an_error_and_not_false(condition: Condition) -> None:
    with pytest.raises(KeyError):
        holds(condition, {})


@given(CONDITIONS, CONDITIONS, VALUES)
def test_all_and_any_are_and_and_or(one: Condition, other: Condition, facts: dict[str, Value]) -> None:
    assert holds(All((one, other)), facts) == (holds(one, facts) and holds(other, facts))
    assert holds(Any((one, other)), facts) == (holds(one, facts) or holds(other, facts))
    assert holds(All((one, other)), facts) == holds(All((other, one)), facts)
    assert holds(Any((one, Any((other,)))), facts) == holds(Any((one, other)), facts)


@given(strategies.single_tests(FACTS), VALUES)
def test_a_negated_test_holds_when_the_test_does_not(test: OneOf | Within, facts: dict[str, Value]) -> None:
    match test:
        case OneOf(fact, values, negated):
            opposite: Condition = OneOf(fact, values, not negated)
        case Within(fact, at_least, below, negated):
            opposite = Within(fact, at_least, below, not negated)
    assert holds(opposite, facts) is not holds(test, facts)


@given(CONDITIONS, VALUES, VALUES)
def test_only_the_facts_a_condition_reads_matter(
    condition: Condition, facts: dict[str, Value], others: dict[str, Value]
) -> None:
    read = {name: facts[name] for name in facts_read(condition)}
    assert holds(condition, {**others, **read}) == holds(condition, facts)
    assert holds(condition, read) == holds(condition, facts)


@given(CONDITIONS, VALUES)
def test_the_first_failure_is_there_when_the_condition_fails_and_fails_itself(
    condition: Condition, facts: dict[str, Value]
) -> None:
    failure = first_failure(condition, facts)
    assert (failure is None) == holds(condition, facts)
    assert failure is None or not holds(failure, facts)
    assert not isinstance(failure, All)


@given(st.lists(CONDITIONS, max_size=4), CONDITIONS, VALUES)
def test_the_first_failure_comes_before_all_others(
    earlier: list[Condition], failing: Condition, facts: dict[str, Value]
) -> None:
    holding = tuple(each for each in earlier if holds(each, facts))
    assert first_failure(All((*holding, failing)), facts) == first_failure(failing, facts)


def test_the_failure_of_alternatives_is_all_of_them() -> None:
    alternatives = Any((OneOf("wet", (True,)), Within("amount", 10.0, None)))
    facts = {"wet": False, "amount": 1.0, "kind": "a"}
    assert first_failure(All((OneOf("kind", ("a",)), alternatives)), facts) == alternatives
