"""Facts, their domains and the cells these are cut into."""

from __future__ import annotations

import math

import pytest
import strategies
from hypothesis import given
from hypothesis import strategies as st
from strategies import boolean, enumeration, number

from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin, Vocabulary

FACTS = strategies.facts("fact")
LENGTH = number("length_mm", 0.0, 3000.0, 10.0, 50.0, unit="mm")


@given(FACTS)
def test_each_cell_holds_its_own_representative(fact: Fact) -> None:
    assert [fact.cell_of(value) for value in fact.domain] == list(range(len(fact.domain)))


@given(st.data())
def test_values_of_one_cell_are_the_same_to_every_test(data: st.DataObject) -> None:
    fact = data.draw(FACTS)
    value = data.draw(strategies.values_of(fact))
    representative = fact.domain[fact.cell_of(value)]
    test = data.draw(strategies.single_tests([fact]))
    assert holds(test, {"fact": value}) == holds(test, {"fact": representative})


@given(st.data())
def test_cells_of_a_number_ascend_with_it(data: st.DataObject) -> None:
    fact = data.draw(FACTS.filter(lambda fact: fact.kind is Kind.NUMBER))
    lower, upper = sorted(data.draw(st.tuples(strategies.values_of(fact), strategies.values_of(fact))))
    assert 0 <= fact.cell_of(lower) <= fact.cell_of(upper) <= len(fact.cut_points)


@given(st.data())
def test_every_value_of_the_domain_is_admitted(data: st.DataObject) -> None:
    fact = data.draw(FACTS)
    assert all(fact.fault_of(value) is None for value in fact.domain)
    assert fact.fault_of(data.draw(strategies.values_of(fact))) is None


@pytest.mark.parametrize(
    ("value", "cell"), [(0.0, 0), (9.99, 0), (10.0, 1), (49.0, 1), (50.0, 2), (3000.0, 2)]
)
def test_a_cut_point_belongs_to_the_cell_above_it(value: float, cell: int) -> None:
    assert LENGTH.cell_of(value) == cell


def test_a_value_outside_the_domain_has_no_cell() -> None:
    with pytest.raises(ValueError, match="not in tuple"):
        enumeration("kind", "a", "b").cell_of("c")


def test_a_member_for_the_case_that_a_fact_does_not_apply_is_the_last_cell() -> None:
    assert enumeration("kind", "a", "b", otherwise="none").domain == ("a", "b", "none")
    assert enumeration("kind", "a", "b", otherwise="b").domain == ("a", "b")
    assert boolean("wet", otherwise=False).domain == (False, True)


@pytest.mark.parametrize(
    ("fact", "value", "fault"),
    [
        (boolean("wet"), "true", "must be true or false"),
        (boolean("wet"), 1, "must be true or false"),
        (boolean("wet"), None, "must be true or false"),
        (enumeration("kind", "a", "b"), "c", "must be one of a, b"),
        (enumeration("kind", "a", "b"), True, "must be one of a, b"),
        (enumeration("kind", "1", "b"), 1, "must be one of 1, b"),
        (enumeration("kind", "a", "b"), ["a"], "must be one of a, b"),
        (LENGTH, "2", "must be a number"),
        (LENGTH, True, "must be a number"),
        (LENGTH, None, "must be a number"),
        (LENGTH, -0.001, "must be between 0 and 3000 mm"),
        (LENGTH, 3000.001, "must be between 0 and 3000 mm"),
        (LENGTH, math.nan, "must be between 0 and 3000 mm"),
        (LENGTH, math.inf, "must be between 0 and 3000 mm"),
        (LENGTH, 10**400, "must be between 0 and 3000 mm"),
        (LENGTH, 3000, None),
        (LENGTH, 0, None),
    ],
)
def test_a_value_of_another_kind_or_out_of_range_is_a_fault(
    fact: Fact, value: object, fault: str | None
) -> None:
    assert fact.fault_of(value) == fault


VOCABULARY = Vocabulary(
    {
        fact.name: fact
        for fact in (
            boolean("wet"),
            enumeration("energy", "low", "high", origin=Origin.SUBSTRATE),
            LENGTH,
            boolean("sealed", origin=Origin.RULES, default=False),
        )
    }
)


def test_facts_are_found_by_name_and_by_origin() -> None:
    assert VOCABULARY["wet"].kind is Kind.BOOLEAN
    assert "wet" in VOCABULARY
    assert "dry" not in VOCABULARY
    assert [fact.name for fact in VOCABULARY] == ["wet", "energy", "length_mm", "sealed"]
    assert [fact.name for fact in VOCABULARY.from_origin(Origin.LINE_ITEM)] == ["wet", "length_mm"]
    assert [fact.name for fact in VOCABULARY.from_origin(Origin.SUBSTRATE)] == ["energy"]
    assert [fact.name for fact in VOCABULARY.from_origin(Origin.RULES)] == ["sealed"]


def test_cells_stand_in_the_order_of_names_whatever_the_order_given() -> None:
    facts = {"length_mm": 60.0, "wet": True, "energy": "low"}
    backwards = dict(reversed(facts.items()))
    assert VOCABULARY.cells(facts) == VOCABULARY.cells(backwards)
    assert VOCABULARY.cells(facts) != VOCABULARY.cells({**facts, "wet": False})
    assert VOCABULARY.cells(facts) == VOCABULARY.cells({**facts, "length_mm": 51.0})


def test_different_facts_never_have_equal_cells() -> None:
    assert VOCABULARY.cells({"wet": True}) != VOCABULARY.cells({"energy": "high"})
    assert VOCABULARY.cells({"wet": False}) != VOCABULARY.cells({})
