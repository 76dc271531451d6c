"""Laws of estimates and advice, whatever the prices and the works."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from priced_examples import NEUTRAL, procedure_of, rates, weigh

from planning.costs.money import minor_digits
from rules.pack import Disposition

cents = st.integers(0, 10**6).map(lambda number: Decimal(number) / 100)
hours = st.none() | st.fixed_dictionaries({"body": st.floats(0, 20), "refinish": st.floats(0, 20)})
minutes = st.integers(1, 600).map(float)
spreads = st.sampled_from([0.0, 0.1, 0.3, 0.8])


@st.composite
def charges(draw):
    currency = draw(st.sampled_from(["USD", "JPY", "KWD"]))
    digits = minor_digits(currency)
    money = st.integers(0, 10**7).map(lambda number: Decimal(number).scaleb(-digits))
    return rates(
        currency=currency,
        labour_per_hour={name: draw(st.decimals(0, 500, places=4)) for name in ("body", "refinish")},
        replacement_part=draw(money),
        replacement_disposal=draw(st.none() | money),
        replacement_fit_hours=draw(hours),
        repair_fit_hours=draw(hours),
        replacement_lead_days=draw(st.none() | st.integers(0, 60)),
        sensor_calibration={"radar_zone": draw(money)},
    )


@settings(max_examples=60)
@given(charges(), minutes, minutes, spreads, st.booleans())
def test_totals_are_the_sums_of_their_lines_and_the_figures_hang_together(
    charged, repair_min, paint_min, spread, radar
):
    cost = weigh(
        charged, NEUTRAL, repair_min=repair_min, paint_min=paint_min, spread=spread, radar_zone=radar
    ).cost
    assert cost.total == cost.labour_total + cost.materials_total == sum(item.amount for item in cost.items)
    for alternative in (cost.repair, cost.replacement):
        assert alternative.total == sum(item.amount for item in alternative.items)
        assert alternative.expected.p50 <= alternative.expected.p80 <= alternative.expected.p95
        digits = minor_digits(charged.currency)
        amounts = [alternative.total, *(item.amount for item in alternative.items)]
        assert {amount.as_tuple().exponent for amount in amounts} == {-digits}
    advice = cost.advice
    assert advice.saving == cost.replacement.expected.p50 - cost.repair.expected.p50
    if advice.threshold_part_price is not None:
        assert advice.threshold_part_price + advice.saving == charged.replacement_part
    else:
        assert advice.saving > charged.replacement_part
    assert 0 <= advice.probability_repair_cheaper <= 1
    assert (advice.advised is Disposition.REPAIR) == (advice.probability_repair_cheaper >= 0.5)


@settings(max_examples=40)
@given(charges(), minutes, spreads, cents)
def test_a_higher_rate_never_makes_the_repair_cheaper(charged, repair_min, spread, more):
    dearer = replace(
        charged, labour_per_hour={name: rate + more for name, rate in charged.labour_per_hour.items()}
    )
    before, after = (
        weigh(each, repair_min=repair_min, spread=spread).cost.repair for each in (charged, dearer)
    )
    assert before.total <= after.total
    assert before.expected.p50 <= after.expected.p50
    assert before.expected.p95 <= after.expected.p95


@settings(max_examples=40)
@given(charges(), minutes, minutes, spreads, st.integers(0, 10**7))
def test_a_dearer_part_never_makes_the_repair_less_likely_to_be_cheaper(
    charged, repair_min, paint_min, spread, units
):
    more = Decimal(units).scaleb(-minor_digits(charged.currency))
    dearer = replace(charged, replacement_part=charged.replacement_part + more)
    before, after = (
        weigh(each, NEUTRAL, repair_min=repair_min, paint_min=paint_min, spread=spread).cost.advice
        for each in (charged, dearer)
    )
    assert before.probability_repair_cheaper <= after.probability_repair_cheaper
    assert after.saving == before.saving + more
    assert not (before.advised is Disposition.REPAIR and after.advised is Disposition.REPLACE)
    if before.threshold_part_price is not None:
        assert after.threshold_part_price == before.threshold_part_price


@settings(max_examples=40)
@given(charges(), minutes, minutes, st.sampled_from([0.1, 0.3]))
def test_at_a_price_above_the_threshold_the_repair_is_the_cheaper_one_at_the_median(
    charged, repair_min, paint_min, spread
):
    shown = weigh(charged, repair_min=repair_min, paint_min=paint_min, spread=spread).cost.advice
    assume(shown.threshold_part_price is not None)
    unit = Decimal(1).scaleb(-minor_digits(charged.currency))
    above = replace(charged, replacement_part=shown.threshold_part_price + unit)
    cost = weigh(above, repair_min=repair_min, paint_min=paint_min, spread=spread).cost
    assert cost.advice.saving == unit
    assert cost.repair.expected.p50 < cost.replacement.expected.p50


@settings(max_examples=30)
@given(charges(), minutes, spreads, st.sampled_from(Disposition))
def test_the_advice_leaves_everything_else_of_the_procedure_as_it_is(
    charged, repair_min, spread, disposition
):
    plain = procedure_of(repair_min, None, spread=spread, disposition=disposition)
    priced = procedure_of(repair_min, charged, spread=spread, disposition=disposition)
    assert replace(priced, cost=None) == plain
