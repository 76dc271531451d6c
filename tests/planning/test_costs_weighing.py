"""A repair weighed against a new part, on invented works."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from priced_examples import NEUTRAL, SOURCE, procedure_of, rates, weigh

from planning.costs.costing import costed
from planning.costs.model import ItemKind
from planning.costs.weighing import NewPart, weighed
from planning.learning.model import Learned
from planning.timing.model import Quantiles
from rules.conditions import All, OneOf
from rules.pack import Disposition
from rules.policies import Policy

REPAIR, REPLACE = Disposition.REPAIR, Disposition.REPLACE


def policy(name="house", when=(), **limits):
    return Policy(name, f"{name} says so.", SOURCE, All(tuple(when)), **limits)


def lines(alternative):
    return {(item.kind.value, item.what): item.amount for item in alternative.items}


def test_a_procedure_costs_its_labour_and_names_what_is_left_out():
    cost = procedure_of(78, rates(replacement_lead_days=3)).cost
    assert cost.labour == {"body": Decimal("78.00")}
    assert cost.labour_total == cost.total == Decimal("78.00")
    assert (cost.replacement_part, cost.replacement_lead_days) == (Decimal("100.00"), 3)
    assert cost.not_included == ("materials", "fitting of the replacement part")
    assert procedure_of(78, rates(replacement_part=None)).cost.not_included == ("materials",)


def test_both_alternatives_are_itemised():
    charged = rates(
        replacement_fit_hours={"body": 1.0},
        repair_fit_hours={"body": 0.5},
        replacement_disposal=Decimal("12.50"),
        sensor_calibration={"radar_zone": Decimal("90.00")},
        replacement_lead_days=2,
    )
    cost = weigh(charged, radar_zone=True, parking_sensor_zone=True).cost
    assert lines(cost.repair) == {
        ("labour", "body"): Decimal("120.00"),
        ("fitting", "body"): Decimal("30.00"),
    }
    assert lines(cost.replacement) == {
        ("part", "replacement part"): Decimal("100.00"),
        ("disposal", "old part"): Decimal("12.50"),
        ("fitting", "body"): Decimal("60.00"),
        ("labour", "body"): Decimal("60.00"),
        ("calibration", "radar_zone"): Decimal("90.00"),
    }
    assert (cost.repair.total, cost.replacement.total) == (Decimal("150.00"), Decimal("322.50"))
    assert "sensor calibration (parking_sensor_zone): no price" in cost.replacement.not_included
    assert (cost.repair.supplied_as, cost.replacement.supplied_as) == (None, "primed")


def test_what_a_repair_may_need_beside_its_stages_is_named():
    gaps = costed(procedure_of(60, None), {"radar_zone": True}, rates()).repair.not_included
    assert gaps[:2] == ("materials", "taking the part off and fitting it again, where the repair needs it")
    assert gaps[2].startswith("sensor calibration (radar_zone), where")
    assert len(gaps) == 3


def test_elapsed_time_has_lead_time_stages_and_fitting():
    charged = rates(replacement_fit_hours={"body": 1.0}, replacement_lead_days=2)
    cost = weigh(charged, spread=0.0).cost
    assert cost.repair.elapsed_min == Quantiles(120.0, 120.0, 120.0)
    assert cost.replacement.elapsed_min == Quantiles(*[2 * 1440.0 + 60 + 60] * 3)


def test_the_threshold_is_the_part_price_at_which_the_medians_are_equal():
    advice = weigh(rates(), NEUTRAL).cost.advice
    assert advice.threshold_part_price + advice.saving == Decimal("100.00")
    even = weigh(rates(replacement_part=advice.threshold_part_price), NEUTRAL).cost
    assert even.repair.expected.p50 == even.replacement.expected.p50
    assert even.advice.saving == 0
    assert even.advice.probability_repair_cheaper == pytest.approx(0.5, abs=0.05)


def test_a_repair_that_is_cheaper_than_the_work_on_a_new_part_has_no_threshold():
    advice = weigh(rates(), NEUTRAL, repair_min=30.0).cost.advice
    assert advice.threshold_part_price is None
    assert advice.saving > Decimal("100.00")


def test_without_spread_the_cheaper_one_is_certain():
    dear, cheap = (weigh(rates(), NEUTRAL, spread=0.0, repair_min=minutes) for minutes in (170.0, 150.0))
    assert (dear.cost.advice.probability_repair_cheaper, dear.cost.advice.advised) == (0.0, REPLACE)
    assert (cheap.cost.advice.probability_repair_cheaper, cheap.cost.advice.advised) == (1.0, REPAIR)
    assert cheap.cost.advice.saving == Decimal("10.00")


def test_what_was_learned_widens_what_is_expected():
    procedure = procedure_of(120, rates())
    new_part = NewPart({}, procedure_of(60, None))
    learned = {"work": Learned(1.0, 0.5, 8.0, 9)}
    plain, widened = (
        weighed(procedure, {}, rates(), new_part, (), known).cost.repair.expected for known in ({}, learned)
    )
    assert widened.p95 > plain.p95
    assert widened.p50 == pytest.approx(plain.p50)


@pytest.mark.parametrize(
    ("limits", "met", "found"),
    [
        ({"minimum_saving_pct": 6.0}, True, "saving 6.2 %, at least 6 % asked"),
        ({"minimum_saving_pct": 7.0}, False, "saving 6.2 %, at least 7 % asked"),
        ({"minimum_probability_pct": 100.0}, True, "cheaper in more than 99 % of jobs, at least 100 % asked"),
        ({"maximum_elapsed_min": 150.0}, True, "done within 150 min in 80 % of jobs, at most 150 min asked"),
        (
            {"maximum_elapsed_min": 149.9},
            False,
            "done within 150 min in 80 % of jobs, at most 149.9 min asked",
        ),
    ],
)
def test_a_policy_is_met_by_every_figure_up_to_its_limit(limits, met, found):
    # 150 of 160: part 100 and an hour of body work.
    advice = weigh(rates(), policy(**limits), repair_min=150.0, spread=0.0).cost.advice
    (said,) = advice.policies
    assert (said.met, said.found) == (met, (found,))
    assert advice.advised is (REPAIR if met else REPLACE)
    assert advice.because == (f"{found[0].upper()}{found[1:]}: house says so.",)


def test_a_policy_may_let_a_repair_cost_more():
    advice = weigh(rates(), policy(minimum_saving_pct=-10.0), repair_min=170.0, spread=0.0).cost.advice
    assert advice.saving == Decimal("-10.00")
    assert advice.advised is REPAIR


def test_one_policy_that_is_not_met_is_enough_and_is_the_reason():
    strict = policy("strict", minimum_saving_pct=50.0)
    advice = weigh(rates(), NEUTRAL, strict, repair_min=150.0, spread=0.0).cost.advice
    assert advice.advised is REPLACE
    assert [said.met for said in advice.policies] == [True, False]
    assert len(advice.because) == 1
    assert "strict says so" in advice.because[0]


def test_a_policy_speaks_of_the_facts_it_names_alone():
    cracks = policy(when=[OneOf("damage_type", ("crack",))], minimum_saving_pct=99.0)
    spoken = weigh(rates(), NEUTRAL, cracks, repair_min=30.0, damage_type="crack").cost.advice
    silent = weigh(rates(), NEUTRAL, cracks, repair_min=30.0, damage_type="dent").cost.advice
    assert [said.policy for said in spoken.policies] == ["neutral", "house"]
    assert [said.policy for said in silent.policies] == ["neutral"]


def test_without_a_policy_nothing_is_advised_and_the_figures_stand():
    advice = weigh(rates()).cost.advice
    assert advice.advised is None
    assert advice.probability_repair_cheaper is not None
    assert "No policy" in advice.because[0]


def test_what_is_left_out_of_account_is_told_with_the_advice():
    lopsided = weigh(rates(), NEUTRAL).cost.advice.caveats
    assert "hours of fitting a new part are not given" in lopsided[0]
    assert "No material is priced" in lopsided[2]
    fitted = rates(replacement_fit_hours={"body": 1.0}, repair_fit_hours={})
    assert weigh(fitted, NEUTRAL).cost.advice.caveats == lopsided[2:]


def test_no_hours_of_fitting_need_no_rate():
    charged = rates(replacement_fit_hours={"refinish": 0.0}, labour_per_hour={"body": Decimal(60)})
    cost = weigh(charged, NEUTRAL).cost
    assert cost.advice.advised is not None
    assert cost.replacement.not_included == ("materials",)


def test_labour_without_a_rate_cannot_be_weighed():
    charged = rates(replacement_fit_hours={"refinish": 1.0}, labour_per_hour={"body": Decimal(60)})
    cost = weigh(charged, NEUTRAL).cost
    assert cost.advice.advised is cost.advice.probability_repair_cheaper is None
    assert "rate for refinish labour" in cost.advice.because[0]
    assert cost.replacement.not_included == (
        "refinish fitting: 1 h without a rate",
        "materials",
    )


@pytest.mark.parametrize(
    ("disposition", "advised"), [(Disposition.REFER, None), (Disposition.REPLACE, REPLACE)]
)
def test_a_repair_that_the_rules_refuse_is_never_advised(disposition, advised):
    procedure = procedure_of(60, rates(), disposition=disposition)
    new_part = NewPart({}, procedure_of(6000, None))
    for found in (procedure, weighed(procedure, {}, rates(), new_part, [NEUTRAL])):
        assert found.cost.advice.advised is advised
        assert "Invented for a test." in found.cost.advice.because[0]
        assert found.cost.repair is None
        assert found.disposition is disposition


def test_a_replaced_part_is_priced_with_what_its_stages_cost():
    charged = rates(replacement_fit_hours={"body": 1.0})
    cost = procedure_of(60, charged, disposition=Disposition.REPLACE).cost
    assert cost.replacement.total == Decimal("220.00")
    unpriced = procedure_of(60, rates(replacement_part=None), disposition=Disposition.REPLACE).cost
    assert "the replacement part" in unpriced.replacement.not_included
    assert {item.kind for item in unpriced.replacement.items} == {ItemKind.LABOUR}


def test_a_new_part_that_is_painted_stands_against_nothing():
    procedure = procedure_of(60, None)
    cost = costed(procedure, {"condition": "replacement"}, rates())
    assert cost.repair is cost.replacement is cost.advice.advised is None
    assert "new one" in cost.advice.because[0]


def test_without_a_price_of_the_part_nothing_is_weighed():
    procedure = weigh(rates(replacement_part=None), NEUTRAL)
    assert procedure.cost.replacement is procedure.cost.advice.advised is None
    assert "price of a new part" in procedure.cost.advice.because[0]


def test_a_new_part_that_the_rules_refuse_is_told():
    procedure = procedure_of(60, rates())
    refused = NewPart({}, procedure_of(60, None, disposition=Disposition.REFER))
    found = weighed(procedure, {}, rates(), refused, [NEUTRAL])
    assert found.cost.replacement is found.cost.advice.advised is None
    assert "no new part" in found.cost.advice.because[0]
    assert replace(found, cost=procedure.cost) == procedure
