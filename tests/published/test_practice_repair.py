"""Facts of the trade on repairing plastic, against the procedures of the base pack.

Every one of them is common practice in the trade, with no published source.
"""

import pytest
from plastics_data import base_pack
from practice_procedures import (
    CRACK,
    FLEXIBLE,
    RIGID,
    THERMOSET,
    in_turn,
    order_of,
    procedure,
    stage_of,
    told,
)

DISPENSED = {"static-mixer"}


def test_thermoplastics_are_formed_again_by_heat_and_thermosets_are_not() -> None:
    """Common practice, no source."""
    warp = {"damage_type": "warp"}
    assert "reshape" in order_of(procedure(FLEXIBLE, warp))
    assert "reshape" in order_of(procedure(RIGID, warp))
    assert procedure(THERMOSET, warp).disposition.value == "replace"
    assert procedure("PUR", warp).disposition.value == "replace"


def test_reshaping_stays_between_a_lower_and_an_upper_temperature() -> None:
    """Common practice, no source: warm enough to form, not so warm that it melts or chars."""
    text = told(stage_of(procedure(FLEXIBLE, {"damage_type": "warp"}), "reshape"))
    row = base_pack().substrates[FLEXIBLE].properties
    assert f"{row['reshape_from_c']:g} °C" in text
    assert f"{row['reshape_to_c']:g} °C" in text


def test_there_are_two_working_families() -> None:
    """Common practice, no source: flexible and rigid."""
    flexible, rigid = order_of(procedure(FLEXIBLE)), order_of(procedure(RIGID))
    assert "fill-flexible" in flexible
    assert "fill-rigid" not in flexible
    assert "fill-rigid" in rigid
    assert "fill-flexible" not in rigid


def test_cleaning_is_the_same_for_both_families() -> None:
    """Common practice, no source."""

    def cleaning(material: str) -> list[str]:
        return [name for name in order_of(procedure(material)) if "clean" in name or name == "wash"]

    assert cleaning(FLEXIBLE) == cleaning(RIGID) == cleaning(THERMOSET)


def test_the_back_is_ground_coarsely_and_slowly_cleaned_again_and_reinforced() -> None:
    """Common practice, no source: P24 class at low speed, re-cleaned, reinforced."""
    answer = procedure(FLEXIBLE)
    assert in_turn(answer, "clean-back", "grind-back", "clean-ground-back", "reinforce-back")
    ground = stage_of(answer, "grind-back")
    assert ground.abrasive == "P24"
    assert "low speed" in told(ground)


def test_the_front_is_grooved_with_p24_and_the_area_around_sanded_with_p80() -> None:
    """Common practice, no source."""
    answer = procedure(FLEXIBLE)
    assert in_turn(answer, "reinforce-back", "groove-front", "sand-surroundings", "fill-flexible")
    groove = stage_of(answer, "groove-front")
    assert groove.abrasive == "P24"
    assert "taper" in told(groove)
    assert stage_of(answer, "sand-surroundings").abrasive == "P80"


def test_cartridges_are_levelled_before_the_mixer_and_the_first_bead_is_discarded() -> None:
    """Common practice, no source: level both pistons; 50 to 75 mm (2 to 3 in) until the colour is even."""
    dispensing = [stage for stage in base_pack().stages.values() if DISPENSED & {*stage.materials}]
    assert len(dispensing) >= 6
    for stage in dispensing:
        text = " ".join(stage.instructions).lower()
        assert "pistons" in text, stage.id
        assert "50 to 75 mm" in text, stage.id
    assert [inches * 25.4 for inches in (2, 3)] == pytest.approx([50, 75], abs=2)


def test_flexible_material_is_sanded_after_15_to_20_minutes_with_p80_then_p180() -> None:
    """Common practice, no source."""
    answer = procedure(FLEXIBLE)
    assert 15 <= stage_of(answer, "fill-flexible").wait_min <= 20
    assert in_turn(answer, "fill-flexible", "shape-coarse", "shape-fine")
    assert [stage_of(answer, name).abrasive for name in ("shape-coarse", "shape-fine")] == ["P80", "P180"]


@pytest.mark.parametrize(("material", "skin"), [(FLEXIBLE, "skin-flexible"), (RIGID, "skin-rigid")])
def test_a_skin_coat_is_finished_with_p180(material: str, skin: str) -> None:
    """Common practice, no source."""
    answer = procedure(material)
    assert in_turn(answer, "shape-fine", "clean-before-skin", skin, "sand-skin", "feather-edge")
    assert stage_of(answer, "sand-skin").abrasive == "P180"
    assert "pinhole" in told(stage_of(answer, "sand-skin"))


def test_a_rigid_plastic_that_smears_is_cooled_cut_again_and_cleaned_again() -> None:
    """Common practice, no source: slow the grinder; if it smears stop and cool."""
    text = told(stage_of(procedure(RIGID), "grind-back"))
    assert "2000 revolutions a minute or less" in text
    assert "stop, let it cool, cut the smear off with a fresh disc, and clean again" in text


def test_a_thermoset_powders_and_is_not_ground_as_slowly() -> None:
    """Common practice, no source."""
    assert base_pack().substrates[THERMOSET].properties["sanding"] == "powders"
    assert "medium speed" in told(stage_of(procedure(THERMOSET), "grind-back"))


def test_rigid_reinforcement_gets_a_skin_over_it() -> None:
    """Common practice, no source."""
    assert in_turn(procedure(RIGID), "reinforce-back", "skin-back", "groove-front")


def test_rigid_material_is_sanded_after_10_to_20_minutes_and_holds_better_with_time() -> None:
    """Common practice, no source."""
    filled = stage_of(procedure(RIGID), "fill-rigid")
    assert 10 <= filled.wait_min <= 20
    assert "its hold goes on growing" in told(filled)


def test_filler_is_built_proud() -> None:
    """Common practice, no source."""
    assert "proud" in told(stage_of(procedure(FLEXIBLE), "fill-flexible"))
    assert "proud" in told(stage_of(procedure(RIGID), "fill-rigid"))


def test_plastic_is_never_lit_to_tell_what_it_is() -> None:
    """Common practice, no source: toxic fumes, fire."""
    caution = base_pack().cautions["no-burn-test"]
    assert "hydrogen chloride" in caution.hazard
    assert "ignites" in caution.hazard
    answer = procedure("unknown", CRACK)
    assert "no-burn-test" in [asked.caution.id for asked in answer.cautions]
