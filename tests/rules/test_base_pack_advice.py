"""Repair against a new part, for any line item of the base pack: what is decided is never advised away."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from base_pack_line_items import Answer, answer, answers, base_pack
from hypothesis import event, given, settings
from hypothesis import strategies as st

from api.weighing import with_advice
from planning.costs.model import Cost, Rates
from planning.costs.new_part import new_part_facts
from planning.model import Procedure, Terms
from planning.procedure import plan
from planning.timing.calendar import Calendar, Hours
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import CompleteFacts, complete
from rules.loading import BASE_PACK, load_files, read_folder
from rules.pack import Disposition
from rules.vocabulary import Origin

DECIDER = Decider(base_pack(), ReferenceEngine(base_pack()))


def charged(part: str = "410.00", supplied_as: str | None = None) -> Rates:
    return Rates(
        "USD",
        {"body": Decimal("62.00"), "refinish": Decimal("62.00")},
        replacement_part=Decimal(part),
        replacement_lead_days=3,
        replacement_fit_hours={"body": 1.2},
        replacement_supplied_as=supplied_as,
    )


def weighed(asked: Answer, rates: Rates) -> tuple[Procedure, Cost]:
    facts, terms = CompleteFacts(asked.facts, ()), Terms(rates=rates)
    procedure = plan(base_pack(), asked.substrate, facts, asked.decision, terms)
    found = with_advice(procedure, DECIDER, asked.substrate, facts, asked.decision, terms)
    assert found.cost is not None
    assert replace(found, cost=procedure.cost) == procedure
    return found, found.cost


@settings(max_examples=80)
@given(answers(), st.sampled_from(["0.00", "150.00", "410.00", "90000.00"]))
def test_a_repair_is_advised_only_where_the_rules_decide_one(asked: Answer, part: str) -> None:
    procedure, cost = weighed(asked, charged(part))
    advice = cost.advice
    event(f"{procedure.disposition.value} -> {advice.advised and advice.advised.value}")
    assert procedure.disposition is asked.decision.disposition
    assert advice.because
    if procedure.disposition is Disposition.REFER:
        assert advice.advised is cost.repair is cost.replacement is None
    elif procedure.disposition is Disposition.REPLACE:
        assert advice.advised is Disposition.REPLACE
        assert cost.repair is None
    elif asked.facts["condition"] == "replacement":
        assert advice.advised is cost.repair is cost.replacement is None
    else:
        assert advice.advised in (Disposition.REPAIR, Disposition.REPLACE)
        assert cost.repair is not None
        assert cost.replacement is not None
        assert (advice.advised is Disposition.REPAIR) == all(said.met for said in advice.policies)


@settings(max_examples=60)
@given(answers(), st.sampled_from([None, "bare", "primed"]))
def test_the_new_part_is_the_same_part_without_its_damage(asked: Answer, supplied_as: str | None) -> None:
    new = new_part_facts(base_pack(), asked.substrate, CompleteFacts(asked.facts, ()), supplied_as).values
    assert new["condition"] == "replacement"
    assert new["damage_type"] == "none"
    assert new["supplied_as"] == (supplied_as or "bare")
    assert new["previous_repair_failed"] is False
    changed = {name for name in new if new[name] != asked.facts[name]}
    of_the_damage = {
        fact.name
        for fact in base_pack().vocabulary.from_origin(Origin.LINE_ITEM)
        if (fact.given_as or "").startswith("/damage/")
    }
    assert changed <= of_the_damage | {"condition", "supplied_as", "previous_repair_failed"}


def test_a_gouge_is_weighed_against_the_part_as_it_is_supplied() -> None:
    gouge = answer("PP+EPDM-T20", condition="refinished", damage_type="gouge", damage_length_mm=80)
    _, bare = weighed(gouge, charged())
    _, primed = weighed(gouge, charged(supplied_as="primed"))
    assert bare.replacement is not None
    assert primed.replacement is not None
    assert (bare.replacement.supplied_as, primed.replacement.supplied_as) == ("bare", "primed")
    new = answer("PP+EPDM-T20", condition="replacement", damage_type="none", supplied_as="primed")
    assert list(primed.replacement.stages) == new.order
    assert primed.replacement.total < bare.replacement.total
    assert bare.advice.saving is not None
    assert primed.advice.saving is not None
    assert primed.advice.saving < bare.advice.saving


def test_a_failed_repair_whose_coating_alone_fails_is_weighed_too() -> None:
    peeling = answer(
        "PP+EPDM-T20", condition="refinished", damage_type="coating_failure", previous_repair_failed=True
    )
    _, cost = weighed(peeling, charged())
    assert cost.replacement is not None
    assert cost.advice.advised is not None


def test_sensors_are_calibrated_with_a_new_part_and_named_with_a_repair() -> None:
    scratch = answer(
        "ABS",
        condition="factory_finish",
        damage_type="scratch",
        damage_length_mm=50,
        parking_sensor_zone=True,
    )
    priced = replace(charged(), sensor_calibration={"parking_sensor_zone": Decimal("45.00")})
    _, cost = weighed(scratch, priced)
    assert cost.replacement is not None
    assert cost.repair is not None
    assert [item.amount for item in cost.replacement.items if item.what == "parking_sensor_zone"] == [45]
    assert any("sensor calibration" in gap for gap in cost.repair.not_included)


def test_a_new_part_that_cannot_be_scheduled_leaves_the_repair_without_advice() -> None:
    scratch = answer("ABS", condition="factory_finish", damage_type="scratch", damage_length_mm=50)
    start_at = datetime(2027, 3, 2, 8, tzinfo=UTC)
    holidays = frozenset((start_at + timedelta(days=day)).date() for day in range(2, 100))
    calendar = Calendar("UTC", (Hours(frozenset(range(7)), 0, 1440),), holidays)
    terms = Terms(start_at=start_at, rates=charged(), calendar=calendar)
    facts = CompleteFacts(scratch.facts, ())
    procedure = plan(base_pack(), scratch.substrate, facts, scratch.decision, terms)
    found = with_advice(procedure, DECIDER, scratch.substrate, facts, scratch.decision, terms)
    assert found.cost is not None
    assert found.cost.advice.advised is found.cost.replacement is None
    assert found.cost.advice.because[0].startswith("The new part cannot be scheduled: ")


OVERLAY = {
    "pack.yaml": """
pack: {name: shop, version: 1.0.0, title: An invented shop, extends: base, effective_from: 2026-01-01}
""",
    "facts.yaml": """
facts:
  colour_known:
    about: Whether the colour of a new part is known.
    kind: boolean
    given_as: /part/colour_known
    applies_when: {condition: replacement}
    otherwise: false
""",
}


def test_a_new_part_of_which_too_little_is_known_leaves_the_repair_without_advice() -> None:
    pack = load_files([read_folder(BASE_PACK), OVERLAY])
    decider = Decider(pack, ReferenceEngine(pack))
    given = {"condition": "factory_finish", "damage_type": "scratch", "damage_length_mm": 50}
    facts = complete(pack, pack.substrates["ABS"], given)
    decision, terms = decider.decide(facts.values), Terms(rates=charged())
    procedure = plan(pack, pack.substrates["ABS"], facts, decision, terms)
    found = with_advice(procedure, decider, pack.substrates["ABS"], facts, decision, terms)
    assert found.cost is not None
    assert found.cost.advice.advised is None
    assert "colour_known: is missing" in found.cost.advice.because[0]
