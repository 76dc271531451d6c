"""What the base pack says of mixes, amounts and alternatives hangs together."""

from __future__ import annotations

import pytest

from rules.amounts import Shape
from rules.loading import BASE_PACK, load_folder

PACK = load_folder(BASE_PACK)
MATERIALS = PACK.materials
MIXED = [each for each in MATERIALS.values() if each.mix]


def test_there_are_classes_that_are_mixed_and_classes_to_choose_from():
    assert len(MIXED) >= 12
    assert sum(each.alternative is not None for each in MATERIALS.values()) >= 8


@pytest.mark.parametrize(
    "material", [each for each in MATERIALS.values() if each.alternative], ids=lambda each: each.id
)
def test_an_alternative_is_for_the_same_use_and_sets_less_free(material):
    other = MATERIALS[material.alternative]
    assert (other.kind, other.coating_role) == (material.kind, material.coating_role)
    # A litre of solids, or of cleaner, with all that evaporates beside it.
    per_solids = [each.voc_g_per_l / (each.volume_solids_pct or 100) for each in (material, other)]
    assert per_solids[1] < per_solids[0]


@pytest.mark.parametrize(
    "material", [each for each in MIXED if each.kind == "coating"], ids=lambda each: each.id
)
def test_volumes_of_a_coating_add_up(material):
    """Solids, water, exempt solvents and other solvents of 0.86 to 0.9 g/ml fill the volume, within 4 %."""
    mix = [each for each in material.mix if each.only_with is None]
    parts = sum(each.parts for each in mix)

    def share(of):
        return sum(each.parts * of(each) for each in mix) / parts

    taken_pct = share(lambda each: each.water_pct + each.exempt_pct + each.voc_g_per_l / 0.88 / 10)
    assert material.volume_solids_pct + taken_pct == pytest.approx(100, abs=4)


def test_components_of_one_name_are_one_thing():
    seen = {}
    for material in MIXED:
        for each in material.mix:
            told = (each.title, each.density_g_per_ml, each.voc_g_per_l, each.role, each.packages_ml)
            assert seen.setdefault(each.id, told) == told


def test_additive_is_joined_where_the_stage_that_asks_for_it_says_so():
    asked = {"flexible-additive-in-primer": {"primer_surfacer", "primer_sealer"},
             "flexible-additive-in-topcoat": {"clear_coat", "single_stage"}}  # fmt: skip
    found = {}
    for material in MIXED:
        for each in material.mix:
            if each.role == "additive":
                assert each.id == "flexible-additive"
                found.setdefault(each.only_with, set()).add(material.coating_role.value)
    assert found == asked
    assert all("flexible-additive" in PACK.stages[stage].materials for stage in asked)


def test_every_stage_that_fills_or_bonds_says_how_much():
    for stage in PACK.stages.values():
        told = {amount.material for amount in stage.amounts}
        fillers = {name for name in stage.materials if MATERIALS[name].kind == "filler"}
        assert fillers <= told, stage.id
        if "static-mixer" in stage.materials:
            assert "static-mixer" in told, stage.id


def test_the_instructions_say_what_is_reckoned():
    """The figures of the amounts stand in the words that the technician reads."""
    dish = next(each for each in PACK.stages["fill-flexible"].amounts if each.shape is Shape.DISH)
    groove, fill = (" ".join(PACK.stages[name].instructions) for name in ("groove-front", "fill-flexible"))
    assert f"taper its sides to {dish.figures['taper_mm']:g} mm each" in groove
    assert f"{dish.figures['overfill_mm']:g} mm proud" in fill
    assert f"{dish.figures['run_out_mm']:g} mm beyond the taper" in fill
    strip = next(each for each in PACK.stages["reinforce-back"].amounts if each.shape is Shape.STRIP)
    assert f"{strip.figures['beyond_mm']:g} mm beyond the break" in " ".join(
        PACK.stages["reinforce-back"].instructions
    )
    for name in ("skin-flexible", "skin-rigid"):
        layer = next(each for each in PACK.stages[name].amounts if each.shape is Shape.LAYER)
        assert f"{layer.figures['thickness_mm']:g} mm" in " ".join(PACK.stages[name].instructions)


def test_mixers_and_beads_are_lost_where_cartridges_are_used():
    for name in ("repair-adhesive", "flexible-filler", "rigid-filler"):
        told = " ".join(loss.what for loss in MATERIALS[name].losses)
        assert "static mixer" in told
        assert "bead" in told
        assert all(loss.source for loss in MATERIALS[name].losses)


def test_a_trial_on_a_hidden_spot_takes_what_it_says_and_no_more():
    trials = [each for each in PACK.stages.values() if each.parameters.get("covers") == "trial"]
    assert {each.id for each in trials} == {"bond-test", "solvent-rub-check"}
    for stage in trials:
        assert any("hidden spot" in told for told in stage.instructions)
        assert {amount.material for amount in stage.amounts} == {*stage.materials}


@pytest.mark.parametrize("name", ["adhesion-promoter", "adhesion-promoter-waterborne"])
def test_a_promoter_is_a_thin_film(name):
    """Common practice, no source: 2.5 to 7.5 µm dry in all, so that it binds and does not lie in between."""
    coats = PACK.stages["adhesion-promoter"].parameters["coats"]
    assert 2.5 <= MATERIALS[name].film_um * float(coats) <= 7.5


def test_stages_that_work_on_the_repair_alone_say_how_far_around():
    spots = [each for each in PACK.stages.values() if each.parameters.get("covers") == "repair"]
    assert len(spots) > 20
    assert all(float(each.parameters["around_mm"]) > 0 for each in spots)
    for name in ("basecoat", "clearcoat", "single-stage-topcoat"):
        assert PACK.stages[name].parameters.get("covers", "part") == "part"
