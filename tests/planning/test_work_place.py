"""Dew point, surface margin, and the stages that the place holds back."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_examples import (
    catalogue,
    facts_with,
    make_decision,
    make_pack,
    make_stage,
    make_substrate,
)

from planning.job import Job
from planning.model import Procedure, Terms
from planning.place.air import Air, brought, measured
from planning.place.dew_point import dew_point_c, relative_humidity_pct, saturation_hpa
from planning.place.model import Hold, Measure, PlaceReport
from planning.place.report import place_report
from planning.procedure import plan
from rules.pack import Application, Climate, Material

# Common practice, no source.
FIT = Application((15.0, 35.0), (15.0, 35.0), (0.0, 85.0), 3.0, "invented for a test")
PAINT = Material("paint", "Paint", "consumable", "invented for a test", application=FIT)
WATER = Material("water", "Water", "consumable", "invented for a test")

WASH = make_stage("wash", materials=("water",))
WARM = make_stage("warm", title="Warm up", brings=Climate(air_c=20.0, surface_c=20.0))
DRY = make_stage("dry", title="Dry the air", brings=Climate(humidity_pct=80.0, dew_margin_k=3.0))
PRIME = make_stage("prime", materials=("water", "paint"))
COAT = make_stage("coat", materials=("paint",))
STAGES = catalogue(WASH, WARM, DRY, PRIME, COAT)
MATERIALS = {"paint": PAINT, "water": WATER}


def job(air_c: float = 20.0, surface_c: float = 20.0, humidity_pct: float = 50.0) -> Job:
    return Job(air_temperature_c=air_c, surface_temperature_c=surface_c, relative_humidity_pct=humidity_pct)


def report(where: Job, *order: str) -> PlaceReport:
    found = place_report(measured(where), order or ("wash", "prime", "coat"), STAGES, MATERIALS)
    assert found is not None
    return found


def only(where: Job, *order: str) -> Hold:
    (hold,) = report(where, *order).holds
    return hold


@settings(max_examples=60)
@given(st.floats(-20, 50), st.floats(1, 99), st.floats(1, 99))
def test_dew_point_rises_with_humidity_and_stays_below_the_air(air_c, one_pct, other_pct):
    drier, moister = sorted((one_pct, other_pct))
    assert dew_point_c(air_c, drier) <= dew_point_c(air_c, moister) < air_c


def test_saturated_air_is_at_its_dew_point():
    assert dew_point_c(20.0, 100.0) == pytest.approx(20.0)


@settings(max_examples=60)
@given(st.floats(-20, 60), st.floats(0.1, 100))
def test_humidity_and_dew_point_say_the_same(air_c, humidity_pct):
    dew_c = dew_point_c(air_c, humidity_pct)
    assert relative_humidity_pct(air_c, dew_c) == pytest.approx(humidity_pct)
    assert saturation_hpa(dew_c) == pytest.approx(humidity_pct / 100 * saturation_hpa(air_c))


def test_air_is_never_more_than_saturated():
    assert relative_humidity_pct(20.0, 25.0) == 100.0


def test_air_without_moisture_has_no_dew_point():
    with pytest.raises(ValueError, match="more than 0 %"):
        dew_point_c(20.0, 0.0)
    found = report(job(humidity_pct=0.0))
    assert (found.dew_point_c, found.surface_margin_k, found.holds) == (None, None, ())


def test_the_driest_air_that_a_number_can_say_still_has_a_dew_point():
    assert dew_point_c(20.0, 5e-324) < -200


def test_a_fit_place_holds_nothing():
    found = report(job(humidity_pct=60.0))
    assert (found.dew_point_c, found.surface_margin_k) == (12.0, 8.0)
    assert (found.holds, found.warning) == ((), None)
    assert found.stages == ("prime", "coat")


@pytest.mark.parametrize(
    ("where", "measure", "value", "at_least", "at_most", "told"),
    [
        (job(air_c=12.0), Measure.AIR, 12.0, 15.0, None,
         "The air is 12 °C, at least 15 °C is wanted. Warm the place to at least 15 °C, "
         "and measure again before you begin."),
        (job(air_c=38.0, humidity_pct=20.0), Measure.AIR, 38.0, None, 35.0, "Cool the place to at most 35"),
        (job(surface_c=14.99), Measure.SURFACE, 14.9, 15.0, None, "Warm the part to at least 15 °C"),
        (job(surface_c=40.0), Measure.SURFACE, 40.0, None, 35.0, "Let the part cool to at most 35 °C"),
        (job(surface_c=24.0, humidity_pct=85.01), Measure.HUMIDITY, 85.1, None, 85.0,
         "Dry the air to at most 85 %"),
        (job(surface_c=19.0, humidity_pct=85.0), Measure.DEW_MARGIN, 1.6, 3.0, None,
         "The surface is 1.6 K above the dew point of 17.4 °C, at least 3 K above it is wanted. "
         "Warm the part to 20.4 °C or more, or dry the air until its dew point is 16 °C or less"),
        (job(surface_c=16.4, humidity_pct=70.0), Measure.DEW_MARGIN, 2.0, 3.0, None, "Warm the part"),
        (job(surface_c=15.0, humidity_pct=80.0), Measure.DEW_MARGIN, -1.5, 3.0, None, "1.5 K below"),
    ],
)  # fmt: skip
def test_what_is_outside_a_bound_is_told_with_its_remedy(where, measure, value, at_least, at_most, told):
    hold = only(where)
    assert (hold.measure, hold.value, hold.at_least, hold.at_most) == (measure, value, at_least, at_most)
    assert told in hold.told
    assert (hold.stages, hold.materials, hold.mended_by) == (("prime", "coat"), ("paint",), None)
    assert hold.source == FIT.source


@pytest.mark.parametrize("air_c", [15.0, 35.0])
@pytest.mark.parametrize("humidity_pct", [10.0, 35.0])
def test_a_bound_itself_is_good(air_c, humidity_pct):
    assert report(job(air_c=air_c, surface_c=air_c, humidity_pct=humidity_pct)).holds == ()


def test_a_part_is_not_told_to_be_warmed_beyond_what_its_material_stands():
    told = {hold.measure: hold.told for hold in report(job(35.0, 35.0, 85.0)).holds}
    assert "Warm the part" not in told[Measure.DEW_MARGIN]
    assert "Dry the air until its dew point is 32 °C or less" in told[Measure.DEW_MARGIN]


def test_a_part_is_told_to_be_warmed_as_far_as_its_material_wants():
    told = {hold.measure: hold.told for hold in report(job(surface_c=10.0)).holds}
    assert "Warm the part to 15 °C or more, or dry the air" in told[Measure.DEW_MARGIN]


def test_margin_is_rounded_down_so_that_the_hold_is_never_lost():
    found = report(job(surface_c=dew_point_c(20.0, 80.0) + 2.99, humidity_pct=80.0))
    assert found.surface_margin_k == 2.9
    assert found.warning


def test_a_stage_before_that_makes_the_place_fit_mends_the_hold():
    hold = only(job(air_c=12.0), "warm", "prime", "coat")
    assert hold.mended_by == "warm"
    assert hold.told.endswith("'Warm up' comes first and mends this.")
    assert report(job(air_c=12.0), "warm", "prime").warning is None


def test_a_stage_that_comes_later_mends_nothing():
    found = report(job(air_c=12.0), "prime", "warm", "coat")
    mended = {hold.stages: hold.mended_by for hold in found.holds}
    assert mended == {("prime",): None, ("coat",): "warm"}
    assert found.held("prime") == (found.warning,)
    assert found.held("coat") == ()


def test_drying_mends_wet_air_and_a_surface_near_its_dew_point():
    found = report(job(surface_c=19.0, humidity_pct=90.0), "dry", "prime")
    assert {hold.measure: hold.mended_by for hold in found.holds} == {
        Measure.HUMIDITY: "dry",
        Measure.DEW_MARGIN: "dry",
    }


def test_a_hot_place_that_is_cooled_can_become_too_wet():
    """Air of 38 °C and 50 % has its dew point at 26 °C: at 20 °C it is saturated."""
    holds = {hold.measure: hold for hold in report(job(38.0, 30.0, 50.0), "warm", "prime").holds}
    assert holds[Measure.AIR].mended_by == "warm"
    wet = holds[Measure.HUMIDITY]
    assert (wet.value, wet.at_most, wet.expected, wet.mended_by) == (100.0, 85.0, True, None)
    assert wet.told.startswith("After 'Warm up' the relative humidity is 100 %")
    assert holds[Measure.DEW_MARGIN].mended_by is None
    dried = report(job(38.0, 30.0, 50.0), "warm", "dry", "prime")
    assert dried.warning is None
    assert {hold.mended_by for hold in dried.holds} == {"warm", "dry"}


@settings(max_examples=60)
@given(st.floats(-20, 50), st.floats(1, 100), st.floats(-20, 40))
def test_air_keeps_its_moisture_when_it_is_warmed(air_c, humidity_pct, to_c):
    before = Air(air_c, 20.0, humidity_pct)
    after = brought(before, Climate(air_c=to_c))
    assert after.dew_c == pytest.approx(min(before.dew_c, to_c))
    assert after.humidity_pct <= 100


def test_nothing_is_said_where_nothing_is_applied_or_known():
    assert place_report(measured(job()), ["wash"], STAGES, MATERIALS) is None
    assert place_report(measured(Job()), ["prime"], STAGES, MATERIALS) is None
    assert report(Job(air_temperature_c=20.0, relative_humidity_pct=60.0)).surface_margin_k is None


ORDERS = st.sampled_from(
    [("prime", "coat"), ("warm", "prime"), ("warm", "dry", "coat"), ("prime", "warm", "coat")]
)


@settings(max_examples=80)
@given(st.floats(-20, 14.9), st.floats(0, 35), st.floats(-20, 60), st.floats(0, 100), ORDERS)
def test_what_is_held_in_the_cold_is_held_in_more_of_it(air_c, colder_by, surface_c, humidity_pct, order):
    def cold(where_c: float) -> set[tuple[str, str | None]]:
        holds = report(job(where_c, surface_c, humidity_pct), *order).holds
        kept = [hold for hold in holds if hold.measure is Measure.AIR and hold.at_least is not None]
        return {(stage, hold.mended_by) for hold in kept for stage in hold.stages}

    assert cold(air_c)
    assert cold(air_c) <= cold(air_c - colder_by)


@settings(max_examples=80)
@given(st.floats(-20, 50), st.floats(-20, 60), st.floats(0, 20), st.floats(0, 100))
def test_a_colder_surface_is_never_less_above_the_dew_point(air_c, surface_c, colder_by, humidity_pct):
    def near(where_c: float) -> bool:
        holds = report(job(air_c, where_c, humidity_pct)).holds
        return any(hold.measure is Measure.DEW_MARGIN for hold in holds)

    assert near(surface_c) <= near(surface_c - colder_by)


def planned(*order: str, **place: float) -> Procedure:
    pack = make_pack(
        [
            make_stage("warm", brings=Climate(air_c=20.0, surface_c=20.0), phase="clean"),
            make_stage("prime", materials=("paint",), phase="paint"),
            make_stage("look", phase="paint", after=("prime",)),
        ],
        [PAINT],
    )
    return plan(pack, make_substrate(), facts_with(**place), make_decision(order), Terms())


def test_held_stages_and_the_timeline_say_so():
    found = planned("prime", "look", air_temperature_c=12.0)
    assert found.place is not None
    assert {stage.stage: stage.held for stage in found.stages} == {
        "prime": (found.place.warning,),
        "look": (),
    }
    assert found.timeline.held == ("prime",)


def test_a_place_that_is_made_fit_holds_no_stage():
    found = planned("warm", "prime", "look", air_temperature_c=12.0)
    assert found.place is not None
    assert [hold.mended_by for hold in found.place.holds] == ["warm"]
    assert found.timeline.held == ()
    assert not any(stage.held for stage in found.stages)
