"""From what a caller gives to complete, typed facts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
import strategies
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import boolean, enumeration, number, pack_of, rule

from rules.conditions import OneOf, Value
from rules.intake import Assumption, CompleteFacts, FactFault, FactsRefused, complete
from rules.pack import Pack, Substrate
from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin

DAMAGED = OneOf("damage", ("none",), negated=True)
FACTS = [
    enumeration("damage", "crack", "dent", "none", given_as="/damage/type"),
    enumeration("topcoat", "clear", "single", default="clear", given_as="/finish/topcoat"),
    boolean("through", default=True, applies_when=OneOf("damage", ("crack",)), otherwise=False),
    number(
        "length_mm",
        0.0,
        3000.0,
        10.0,
        unit="mm",
        given_as="/damage/length_mm",
        applies_when=DAMAGED,
        otherwise=0.0,
    ),
    enumeration("edge", "sharp", "round", applies_when=OneOf("energy", ("low",)), otherwise="not_applicable"),
    enumeration("energy", "low", "high", origin=Origin.SUBSTRATE),
    boolean("sealed", origin=Origin.RULES, default=False),
]
PACK = pack_of(FACTS, [rule("long", OneOf("damage", ("crack",))), rule("dented", OneOf("damage", ("dent",)))])
HIGH = Substrate("PA", "Polyamide", {"energy": "high"})
LOW = Substrate("PP", "Polypropylene", {"energy": "low"})


def completed(given: Mapping[str, object], substrate: Substrate = HIGH) -> CompleteFacts:
    return complete(PACK, substrate, given)


def faults_of(given: Mapping[str, object], substrate: Substrate = HIGH) -> tuple[FactFault, ...]:
    with pytest.raises(FactsRefused) as refused:
        complete(PACK, substrate, given)
    return refused.value.faults


def test_what_is_given_is_taken_and_what_may_be_assumed_is_reported() -> None:
    facts = completed({"damage": "crack", "length_mm": 80, "topcoat": "single"})
    assert facts.values == {
        "damage": "crack",
        "topcoat": "single",
        "through": True,
        "length_mm": 80.0,
        "edge": "not_applicable",
        "energy": "high",
    }
    assert facts.assumptions == (Assumption("through", True, None),)


def test_a_whole_number_becomes_a_decimal_one_and_nothing_else_changes_type() -> None:
    values = completed({"damage": "crack", "length_mm": 80, "through": False}).values
    assert type(values["length_mm"]) is float
    assert values["through"] is False


def test_a_default_is_not_an_assumption_when_the_same_is_given() -> None:
    given = {"damage": "crack", "length_mm": 80, "topcoat": "clear", "through": True}
    assert completed(given).assumptions == ()


def test_null_is_as_good_as_not_given() -> None:
    assert completed({"damage": "none", "topcoat": None}) == completed({"damage": "none"})


def test_a_fact_that_does_not_apply_takes_its_other_value_and_is_no_assumption() -> None:
    facts = completed({"damage": "none"})
    assert facts.values["through"] is False
    assert facts.values["length_mm"] == 0.0
    assert {assumption.fact for assumption in facts.assumptions} == {"topcoat"}


def test_a_fact_that_does_not_apply_may_be_given_that_value_and_no_other() -> None:
    assert completed({"damage": "none", "length_mm": 0, "through": False}) == completed({"damage": "none"})
    (fault,) = faults_of({"damage": "none", "length_mm": 80})
    assert fault == FactFault(
        "length_mm", "/damage/length_mm", 80, "does not apply to these facts; leave it out"
    )
    assert faults_of({"damage": "none", "length_mm": "0"})[0].fact == "length_mm"
    assert faults_of({"damage": "none", "length_mm": False})[0].fact == "length_mm"


def test_a_fact_may_apply_to_some_materials_only() -> None:
    given = {"damage": "none", "edge": "sharp"}
    assert completed(given, LOW).values["edge"] == "sharp"
    assert faults_of(given, HIGH)[0].detail == "does not apply to these facts; leave it out"
    assert faults_of({"damage": "none"}, LOW)[0].fact == "edge"


def test_the_member_for_not_applying_can_not_be_stated_of_a_fact_that_applies() -> None:
    (fault,) = faults_of({"damage": "none", "edge": "not_applicable"}, LOW)
    assert fault.detail == "must be one of sharp, round"
    assert fault.accepted == ("sharp", "round")


def test_a_missing_fact_is_named_with_what_hangs_on_it() -> None:
    (fault,) = faults_of({})
    assert (fault.fact, fault.given_as, fault.value) == ("damage", "/damage/type", None)
    assert fault.detail == "is missing and has no safe default; 2 rules depend on it. invented"
    assert fault.accepted == ("crack", "dent", "none")


def test_a_conditional_fact_that_applies_and_is_missing_is_named() -> None:
    assert [fault.fact for fault in faults_of({"damage": "dent"})] == ["length_mm"]


@pytest.mark.parametrize(
    ("name", "value", "detail"),
    [
        ("damage", True, "must be one of crack, dent, none"),
        ("damage", "Crack", "must be one of crack, dent, none"),
        ("damage", 0, "must be one of crack, dent, none"),
        ("topcoat", ["clear"], "must be one of clear, single"),
        ("topcoat", {}, "must be one of clear, single"),
        ("through", "true", "must be true or false"),
        ("through", 1, "must be true or false"),
        ("length_mm", "80", "must be a number"),
        ("length_mm", True, "must be a number"),
        ("length_mm", -1, "must be between 0 and 3000 mm"),
        ("length_mm", float("nan"), "must be between 0 and 3000 mm"),
        ("length_mm", 10**400, "must be between 0 and 3000 mm"),
    ],
)
def test_a_value_is_never_converted(name: str, value: object, detail: str) -> None:
    given = {"damage": "crack", "length_mm": 80, name: value}
    (fault,) = faults_of(given)
    assert (fault.fact, fault.detail) == (name, detail)
    assert fault.value is value


@pytest.mark.parametrize("name", ["energy", "sealed", "colour"])
def test_only_facts_of_a_line_item_can_be_given(name: str) -> None:
    (fault,) = faults_of({"damage": "none", name: "low"})
    assert (fault.fact, fault.value, fault.detail) == (name, "low", "is not a fact of a line item")
    assert fault.accepted == ("damage", "edge", "length_mm", "through", "topcoat")


def test_every_fault_is_told_and_none_that_follows_from_another() -> None:
    faults = faults_of({"damage": "krack", "topcoat": 3, "colour": "red", "length_mm": 80})
    assert [fault.fact for fault in faults] == ["colour", "damage", "topcoat"]


def test_the_refusal_says_all_in_one_line() -> None:
    with pytest.raises(
        FactsRefused, match=r"^topcoat: must be one of clear, single; length_mm: must be a number$"
    ):
        completed({"damage": "crack", "length_mm": "8", "topcoat": "x"})


def test_neither_what_is_given_nor_the_substrate_is_changed() -> None:
    given = {"damage": "none"}
    completed(given)
    assert given == {"damage": "none"}
    assert HIGH.properties == {"energy": "high"}


def _pack_with_conditions(data: st.DataObject) -> Pack:
    """Facts of any kind, some of which apply only when an earlier one allows it."""
    first = [data.draw(strategies.facts(f"first_{each}")) for each in range(2)]
    later = [_conditional(data, data.draw(strategies.facts(f"later_{each}")), first) for each in range(3)]
    return pack_of([*first, *later], [])


def _conditional(data: st.DataObject, fact: Fact, first: list[Fact]) -> Fact:
    return replace(
        fact,
        applies_when=data.draw(st.none() | strategies.single_tests(first)),
        otherwise=fact.domain[0] if fact.otherwise is None else fact.otherwise,
        default=data.draw(st.none() | st.sampled_from(_stated(fact))),
    )


def _stated(fact: Fact) -> list[Value]:
    return list(fact.values) if fact.kind is Kind.ENUMERATION else list(fact.domain)


def _given(data: st.DataObject, pack: Pack) -> dict[str, Value]:
    """What applies, save some facts that have a default."""
    values: dict[str, Value] = {}
    for fact in pack.vocabulary:
        applies = fact.applies_when is None or holds(fact.applies_when, values)
        if applies and (fact.default is None or data.draw(st.booleans())):
            allowed = st.sampled_from(_stated(fact)) if fact.values else strategies.values_of(fact)
            values[fact.name] = data.draw(allowed)
    return values


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_is_complete_has_every_fact_and_completing_it_again_changes_nothing(data: st.DataObject) -> None:
    pack = _pack_with_conditions(data)
    substrate = Substrate("X", "Invented", {})
    given = _given(data, pack)
    facts = complete(pack, substrate, given)
    assert facts.values.keys() == pack.vocabulary.facts.keys()
    assert {name: facts.values[name] for name in given} == given
    assert all(pack.vocabulary[name].fault_of(value) is None for name, value in facts.values.items())
    assert all(facts.values[assumption.fact] == assumption.value for assumption in facts.assumptions)
    assert not given.keys() & {assumption.fact for assumption in facts.assumptions}
    again = complete(pack, substrate, facts.values)
    assert again == CompleteFacts(facts.values, ())


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_leaving_out_what_has_no_default_or_giving_what_does_not_apply_is_refused(
    data: st.DataObject,
) -> None:
    pack = _pack_with_conditions(data)
    given = _given(data, pack)
    name = data.draw(st.sampled_from(list(pack.vocabulary.facts)))
    fact = pack.vocabulary[name]
    assume(name.startswith("later"))
    if name in given:
        assume(fact.default is None)
        del given[name]
    else:
        assume(fact.default is None)
        given[name] = data.draw(strategies.values_of(fact).filter(lambda value: value != fact.otherwise))
    with pytest.raises(FactsRefused) as refused:
        complete(pack, Substrate("X", "Invented", {}), given)
    assert [fault.fact for fault in refused.value.faults] == [name]
