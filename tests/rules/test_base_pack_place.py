"""The place of work under the base pack: what its stages mend, and what stays held."""

from __future__ import annotations

import pytest
from base_pack_line_items import answer, base_pack
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.place.model import Measure, PlaceReport
from rules.pack import Application

CRACK = {
    "condition": "factory_finish",
    "damage_type": "crack",
    "damage_length_mm": 80,
    "backside_access": True,
}


def place(**where: float) -> PlaceReport:
    found = answer("TPO", **CRACK, **where).procedure.place
    assert found is not None
    return found


def mended(**where: float) -> dict[Measure, str | None]:
    return {hold.measure: hold.mended_by for hold in place(**where).holds}


def test_a_fit_place_holds_nothing():
    assert place().holds == ()


@pytest.mark.parametrize(
    ("where", "holds"),
    [
        ({"air_temperature_c": 12}, {Measure.AIR: "bring-to-temperature"}),
        (
            {"air_temperature_c": 12, "surface_temperature_c": 12},
            {Measure.AIR: "bring-to-temperature", Measure.SURFACE: "bring-to-temperature"},
        ),
        (
            {"relative_humidity_pct": 85, "surface_temperature_c": 19},
            {Measure.DEW_MARGIN: "lower-humidity"},
        ),
        # No rule asks for a stage: the humidity is below 85 %, the temperatures are good.
        ({"relative_humidity_pct": 70, "surface_temperature_c": 16.4}, {Measure.DEW_MARGIN: None}),
        # Air of 38 °C and 25 % has its dew point at 14.6 °C: it may be cooled.
        ({"air_temperature_c": 38, "relative_humidity_pct": 25}, {Measure.AIR: "bring-to-temperature"}),
        # Air of 38 °C and 50 % has its dew point at 25.8 °C: cooled to 20 °C it is saturated.
        (
            {"air_temperature_c": 38},
            {Measure.AIR: "bring-to-temperature", Measure.HUMIDITY: None, Measure.DEW_MARGIN: None},
        ),
        (
            {"air_temperature_c": 38, "relative_humidity_pct": 90},
            {
                Measure.AIR: "bring-to-temperature",
                Measure.HUMIDITY: "lower-humidity",
                Measure.DEW_MARGIN: "lower-humidity",
            },
        ),
    ],
)
def test_what_a_stage_mends_and_what_stays(where, holds):
    assert mended(**where) == holds


def test_what_stays_holds_every_stage_that_bonds_fills_or_coats():
    found = answer("TPO", **CRACK, relative_humidity_pct=70, surface_temperature_c=16.4).procedure
    held = {stage.stage for stage in found.stages if stage.held}
    assert {"reinforce-back", "fill-flexible", "adhesion-promoter", "primer-surfacer", "clearcoat"} <= held
    assert {"wash", "grind-back", "mask", "final-check"}.isdisjoint(held)
    assert set(found.timeline.held) == held


@settings(max_examples=25)
@given(st.floats(-20, 50), st.floats(-20, 60), st.floats(0, 100))
def test_what_the_rules_make_fit_is_fit(air_c, surface_c, humidity_pct):
    """Neither air nor part is held for its temperature, nor the air that was measured for its humidity."""
    found = place(
        air_temperature_c=air_c, surface_temperature_c=surface_c, relative_humidity_pct=humidity_pct
    )
    stays = [hold for hold in found.holds if hold.mended_by is None]
    assert {hold.measure for hold in stays} <= {Measure.HUMIDITY, Measure.DEW_MARGIN}
    assert all(hold.expected for hold in stays if hold.measure is Measure.HUMIDITY)


def test_everything_that_cures_or_is_a_film_asks_for_a_place():
    pack = base_pack()
    wanting = {name: each for name, each in pack.materials.items() if each.kind in ("coating", "filler")}
    assert wanting
    assert [name for name, each in wanting.items() if not isinstance(each.application, Application)] == []


def test_what_a_stage_brings_is_good_for_every_material():
    pack = base_pack()
    for stage in pack.stages.values():
        climate = stage.brings
        for material in pack.materials.values():
            fit = material.application
            if climate is None or fit is None:
                continue
            for value, (low, high) in (
                (climate.air_c, fit.air_c),
                (climate.surface_c, fit.surface_c),
                (climate.humidity_pct, fit.humidity_pct),
            ):
                assert value is None or low <= value <= high
            assert climate.dew_margin_k is None or climate.dew_margin_k >= fit.dew_margin_k


def test_a_crack_on_a_tight_edge_takes_longer_and_is_told_as_assumed():
    usual = answer("TPO", **CRACK).procedure
    tight = answer("TPO", **CRACK, contour="tight", at_edge=True).procedure
    easy = answer("TPO", **CRACK, contour="flat", at_edge=False).procedure
    minutes = [each.totals.work_min.p50 for each in (easy, usual, tight)]
    assert minutes == sorted(set(minutes))
    assert {"contour", "at_edge"} <= {assumption.fact for assumption in usual.assumptions}
    assert {"contour", "at_edge"}.isdisjoint(assumption.fact for assumption in tight.assumptions)


def test_what_makes_no_stage_of_a_procedure_harder_is_no_assumption():
    new = answer("ABS", condition="replacement", damage_type="none").procedure
    assert {"contour", "at_edge"}.isdisjoint(assumption.fact for assumption in new.assumptions)
    referred = answer("TPO", **CRACK, airbag_cover=True).procedure
    assert {"contour", "at_edge"}.isdisjoint(assumption.fact for assumption in referred.assumptions)
