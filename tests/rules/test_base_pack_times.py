"""Waits, windows, bakes and pot lives of the base pack, as its procedures have them."""

from __future__ import annotations

import re

import pytest
from base_pack_line_items import Answer, answer, base_pack
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.model import PlannedStage

CRACK = {
    "condition": "factory_finish",
    "damage_type": "crack",
    "damage_length_mm": 80,
    "backside_access": True,
}
MADE_FIT = {"bring-to-temperature", "lower-humidity"}


def crack(**where: object) -> Answer:
    return answer("TPO", **CRACK, **where)


def stage(found: Answer, name: str) -> PlannedStage:
    (only,) = (each for each in found.procedure.stages if each.stage == name)
    return only


def times(found: Answer) -> dict[str, object]:
    """Waits, windows and pot lives of every stage that the place does not ask for."""
    return {
        each.stage: (each.wait_min, each.windows, each.pot_life)
        for each in found.procedure.stages
        if each.stage not in MADE_FIT
    }


@settings(max_examples=40, deadline=None)
@given(st.floats(-20, 14.9) | st.floats(35, 50))
def test_a_place_that_is_brought_to_temperature_waits_as_at_20_degrees(air_c: float) -> None:
    dry = {"relative_humidity_pct": 0}
    assert times(crack(air_temperature_c=air_c, **dry)) == times(crack(air_temperature_c=20, **dry))


def test_a_fit_place_waits_by_its_own_temperature() -> None:
    cool, warm = (times(crack(air_temperature_c=air_c)) for air_c in (15, 30))
    assert cool["fill-flexible"] > times(crack())["fill-flexible"] > warm["fill-flexible"]
    assert cool["air-dry-topcoat"] > times(crack())["air-dry-topcoat"] > warm["air-dry-topcoat"]


def test_the_window_of_the_promoter_shuts_early_in_warm_air() -> None:
    def closes_min(air_c: float) -> float:
        windows = [
            each for planned in crack(air_temperature_c=air_c).procedure.stages for each in planned.windows
        ]
        (window,) = (each for each in windows if each.after == "adhesion-promoter")
        assert window.not_after_min is not None
        return window.not_after_min

    assert closes_min(34) < 15 < closes_min(20) == 30 < closes_min(15)


def test_water_dries_more_slowly_in_damp_air() -> None:
    dry, damp = (crack(relative_humidity_pct=pct) for pct in (50, 75))
    assert stage(damp, "rinse-and-dry").wait_min == 2 * stage(dry, "rinse-and-dry").wait_min
    for name in ("basecoat", "clearcoat"):
        assert stage(damp, name).wait_min == stage(dry, name).wait_min


def test_classes_with_water_in_them_and_no_others_dry_by_humidity() -> None:
    coatings = [each for each in base_pack().materials.values() if each.kind == "coating"]
    watery = {each.id for each in coatings if any(part.water_pct > 0 for part in each.mix)}
    assert {each.id for each in coatings if each.by_humidity is not None} == watery
    assert len(watery) >= 3


def test_fewer_coats_flash_off_sooner() -> None:
    scratch = {"condition": "factory_finish", "damage_type": "scratch", "damage_length_mm": 50}
    thick, thin = (answer("TPO", **scratch, radar_zone=radar) for radar in (False, True))
    assert (stage(thick, "primer-surfacer").coats, stage(thin, "primer-surfacer").coats) == (2, 1)
    assert stage(thin, "primer-surfacer").wait_min < stage(thick, "primer-surfacer").wait_min


@pytest.mark.parametrize("means", ["infrared", "booth_bake"])
def test_a_bake_warms_up_from_the_air_and_cools_to_30_degrees(means: str) -> None:
    found = answer("ABS", **CRACK, forced_dry=means, air_temperature_c=20)
    bake = stage(found, "bake-topcoat").bake
    assert bake is not None
    assert bake.heat_up_min == (bake.temperature_c - 20) / 4
    assert stage(found, "bake-topcoat").wait_min == pytest.approx(bake.heat_up_min + bake.hold_min)
    cooling = stage(found, "cool-down")
    assert cooling.wait_min == bake.temperature_c - 30
    assert cooling.parameters["temperature_c"] == bake.temperature_c


def test_every_closing_window_says_where_its_figures_come_from_and_what_to_do_when_it_is_missed() -> None:
    closing = [
        each.window
        for each in base_pack().stages.values()
        if each.window and each.window.not_after_min is not None
    ]
    assert len(closing) >= 20
    for window in closing:
        assert window.source in ("common practice", "from memory")
        assert window.if_missed is not None


def test_everything_that_is_mixed_from_two_parts_has_a_pot_life() -> None:
    two_parts = [each for each in base_pack().materials.values() if each.title.startswith("Two-")]
    assert len(two_parts) >= 7
    assert [each.id for each in two_parts if each.pot_life is None] == []


def test_a_large_face_is_cleared_from_several_mixes_in_warm_air() -> None:
    small = stage(crack(area_m2=1), "clearcoat").pot_life
    large = stage(crack(area_m2=10, air_temperature_c=34), "clearcoat").pot_life
    assert small is not None
    assert large is not None
    assert (small.mixes, small.note) == (1, None)
    assert large.mixes > 1
    assert large.batch_ml is not None
    assert large.use_min <= large.life_min


LATEST = re.compile(r"(within|after) (an|\d+) (minutes|hours?)", re.IGNORECASE)


def test_words_about_a_window_that_goes_by_temperature_name_the_temperature() -> None:
    told = [
        (stage.id, sentence)
        for stage in base_pack().stages.values()
        if stage.window and stage.window.by_temperature and stage.window.not_after_min
        for sentence in stage.instructions
        if LATEST.search(sentence)
    ]
    assert len(told) >= 6
    assert [name for name, sentence in told if "20 °C, sooner where it is warmer" not in sentence] == []


def test_what_cures_and_cools_by_itself_takes_nobodys_time() -> None:
    by_itself = {"air-dry-primer", "air-dry-topcoat", "cool-down"}
    assert {stage.id for stage in base_pack().stages.values() if stage.work.fixed_min == 0} == by_itself
    for found in (crack(), crack(forced_dry="booth_bake")):
        waited = [stage for stage in found.procedure.stages if stage.stage in by_itself]
        assert waited
        assert all(stage.work_min.p95 == 0 and stage.wait_min > 0 for stage in waited)
