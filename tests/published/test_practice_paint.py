"""Facts of the trade on cleaning, priming and painting plastic, against the procedures of the base pack.

Every one of them is common practice in the trade, with no published source, unless it says otherwise.
"""

import pytest
from plastics_data import base_pack
from practice_procedures import CRACK, FLEXIBLE, RIGID, SOUND, in_turn, order_of, procedure, stage_of, told

BARE = {"condition": "replacement", "supplied_as": "bare"}


def test_water_goes_before_solvent_and_solvent_one_way() -> None:
    """Common practice, no source."""
    answer = procedure(FLEXIBLE)
    assert in_turn(answer, "wash", "rinse-and-dry", "solvent-clean", "water-sheet-test")
    text = told(stage_of(answer, "solvent-clean"))
    assert "one way" in text
    assert "lint-free" in text


def test_a_bare_part_is_scuffed_with_a_very_fine_pad_while_it_is_washed() -> None:
    """Common practice, no source: fine or very fine non-woven pad."""
    assert "very fine non-woven pad" in told(stage_of(procedure(FLEXIBLE, SOUND, **BARE), "wash"))


def test_water_sheets_off_a_clean_surface_with_two_limits() -> None:
    """Common practice, no source; the minute and the interference of detergent are those of ASTM F22."""
    text = told(stage_of(procedure(FLEXIBLE), "water-sheet-test"))
    assert "one minute" in text
    assert "low surface energy" in text
    assert "breaks up although it is clean" in text
    assert "detergent lets water sheet over dirt" in text


def test_surfacer_is_sprayed_through_a_wide_tip() -> None:
    """Common practice, no source: gravity 1.8 to 2.3 mm; siphon 0.080 to 0.090 in."""
    text = told(stage_of(procedure(FLEXIBLE), "primer-surfacer"))
    assert "1.8 to 2.3 mm" in text
    siphon_mm = [round(inches * 25.4, 1) for inches in (0.080, 0.090)]
    assert f"{siphon_mm[0]} to {siphon_mm[1]} mm" in text


def test_surfacer_is_sanded_after_30_to_40_minutes() -> None:
    """Common practice, no source; at 20 °C, from the last coat."""
    answer = procedure(FLEXIBLE)
    waited = sum(stage_of(answer, name).wait_min for name in ("primer-surfacer", "air-dry-primer"))
    assert 30 <= waited <= 40


@pytest.mark.parametrize("topcoat", ["basecoat_clearcoat", "single_stage", "texture_only"])
def test_surfacer_is_sanded_with_p320_to_p600_wet_or_dry_and_cleaned_again(topcoat: str) -> None:
    """Common practice, no source."""
    answer = procedure(FLEXIBLE, topcoat=topcoat)
    sanded = stage_of(answer, "sand-primer")
    assert sanded.abrasive in {"P320", "P360", "P400", "P500", "P600"}
    assert "wet or dry" in told(sanded)
    assert in_turn(answer, "sand-primer", "clean-before-colour", "tack-before-colour")


def test_flexible_additive_goes_into_unreduced_material_of_flexible_parts_only() -> None:
    """Common practice, no source."""
    additive = ("flexible-additive-in-primer", "flexible-additive-in-topcoat")
    answer = procedure(FLEXIBLE)
    for name in additive:
        text = told(stage_of(answer, name))
        assert "unreduced" in text
        assert text.index("unreduced") < text.index("reducer last")
    assert not {*additive} & {*order_of(procedure(RIGID))}


def test_a_new_part_is_washed_abraded_blown_off_and_tacked() -> None:
    """Common practice, no source: wash and plastic cleaner, P400 to P600, blow off, tack."""
    answer = procedure(FLEXIBLE, SOUND, **BARE)
    assert in_turn(
        answer, "wash", "solvent-clean", "abrade-new-part", "clean-before-primer", "tack-before-primer"
    )
    assert stage_of(answer, "abrade-new-part").abrasive in {"P400", "P500", "P600"}
    assert "blow the part off" in told(stage_of(answer, "tack-before-primer"))


def test_a_bare_part_is_told_from_a_primed_one_by_a_solvent_rub() -> None:
    """Common practice, no source."""
    for supplied_as in ("bare", "primed"):
        answer = procedure(FLEXIBLE, SOUND, condition="replacement", supplied_as=supplied_as)
        assert "solvent-rub-check" in order_of(answer)


def test_promoter_goes_on_medium_wet_then_full_wet() -> None:
    """Common practice, no source: one medium wet coat, flash, one full wet coat; 10 to 15 minutes."""
    promoter = stage_of(procedure(FLEXIBLE, SOUND, **BARE), "adhesion-promoter")
    assert promoter.coats == 2
    assert told(promoter).index("medium wet") < told(promoter).index("full wet")
    assert 10 <= promoter.wait_min <= 15


@pytest.mark.parametrize(("condition", "damage"), [(BARE, SOUND), ({"condition": "factory_finish"}, CRACK)])
def test_the_promoter_is_covered_within_30_minutes_or_applied_again(condition: dict, damage: dict) -> None:
    """Common practice, no source."""
    answer = procedure(FLEXIBLE, damage, **condition)
    (window,) = (
        each for stage in answer.stages for each in stage.windows if each.after == "adhesion-promoter"
    )
    assert (window.not_before_min, window.not_after_min) == (10, 30)
    assert window.if_missed == "adhesion-promoter"


def test_grain_is_restored_before_colour() -> None:
    """Common practice, no source."""
    assert in_turn(procedure(FLEXIBLE, texture="grained"), "sealer", "restore-grain", "basecoat", "clearcoat")


def test_a_sealer_bars_feathered_edges() -> None:
    """Common practice, no source."""
    assert in_turn(procedure(FLEXIBLE), "feather-edge", "primer-surfacer", "sealer", "basecoat")


def test_a_sound_factory_finish_stays() -> None:
    """Common practice, no source."""
    scratch = {"damage_type": "scratch", "damage_length_mm": 80}
    kept = order_of(procedure(FLEXIBLE, scratch))
    assert not {"sand-off-finish", "chemical-strip"} & {*kept}
    assert {"feather-edge", "scuff-panel"} <= {*kept}
    assert "sand-off-finish" in order_of(procedure(FLEXIBLE, scratch, condition="refinished"))


def test_a_topcoat_that_needs_a_night_in_the_air_needs_about_half_an_hour_at_60_degrees() -> None:
    """Common practice, no source: 10 to 24 hours at 20 °C; 30 to 45 minutes at 60 °C at the surface."""
    assert 600 <= stage_of(procedure(RIGID, SOUND), "air-dry-topcoat").wait_min <= 1440
    bake = stage_of(procedure(RIGID, SOUND, forced_dry="booth_bake"), "bake-topcoat").bake
    assert bake.temperature_c == 60
    assert 30 <= bake.hold_min <= 45


def test_a_bake_stays_below_the_limit_of_the_plastic_and_the_part_cools_on_its_support() -> None:
    """Common practice, no source."""
    baked = {
        symbol: procedure(symbol, SOUND, forced_dry="booth_bake")
        for symbol, row in base_pack().substrates.items()
        if float(row.properties["bake_limit_c"]) >= 50 and row.properties["repairability"] != "refer"
    }
    assert len(baked) >= 30
    for symbol, answer in baked.items():
        heated_c = stage_of(answer, "bake-topcoat").parameters["temperature_c"]
        assert float(heated_c) < float(base_pack().substrates[symbol].properties["bake_limit_c"])
        assert in_turn(answer, "bake-topcoat", "cool-down", "final-check")
