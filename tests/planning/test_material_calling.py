"""A stage whose parameter calls for another cleaner books that one, in the amounts of its own."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from material_examples import CLEANER, CLOTH, amount
from planning_examples import facts_with, make_decision, make_pack, make_stage, make_substrate

from planning.materials.calling import as_called
from planning.model import Terms
from planning.procedure import plan
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.loading import BASE_PACK, load_folder

MILD = replace(CLEANER, id="mild", title="Mild cleaner", called="a mild cleaner", use_ml_per_m2=80.0)
MATERIALS = {each.id: each for each in (CLEANER, CLOTH, MILD)}
WIPE = make_stage("wipe", materials=("cleaner", "cloth"), parameters={"with": "the usual cleaner"})


def needs_of(**settings):
    pack = make_pack([WIPE], MATERIALS.values())
    decision = make_decision(["wipe"], {("wipe", name): value for name, value in settings.items()})
    return plan(pack, make_substrate(), facts_with(area_m2=1.0), decision, Terms())


def test_what_the_parameter_calls_for_is_booked_and_shown_in_the_place_of_the_usual_one():
    usual, mild = needs_of(), needs_of(**{"with": "a mild cleaner"})
    assert [need.material for need in usual.materials] == ["cleaner", "cloth"]
    assert [need.material for need in mild.materials] == ["mild", "cloth"]
    assert (usual.materials[0].quantity_ml, mild.materials[0].quantity_ml) == (50, 80)
    assert usual.stages[0].materials == ("cleaner", "cloth")
    assert mild.stages[0].materials == ("mild", "cloth")


def test_amounts_go_with_the_material():
    stage = replace(WIPE, amounts=(amount("cleaner", "pieces", fixed=2.0), amount("cloth", "pieces")))
    called = as_called(stage, {"with": "a mild cleaner"}, MATERIALS)
    assert [each.material for each in called.amounts] == ["mild", "cloth"]


def test_a_stage_without_a_cleaner_gets_none():
    sand = make_stage("sand", materials=("cloth",))
    assert as_called(sand, {"with": "a mild cleaner"}, MATERIALS) is sand


@given(st.text() | st.floats(allow_nan=False) | st.booleans())
def test_words_that_call_for_nothing_leave_the_stage_as_it_is(said):
    if said != MILD.called:
        assert as_called(WIPE, {"with": said}, MATERIALS) is WIPE


def test_polycarbonate_is_wiped_with_the_mild_cleaner_of_the_base_pack_alone():
    pack = load_folder(BASE_PACK)
    substrate = pack.substrates["PC"]
    given_facts = {"damage_type": "scratch", "condition": "factory_finish", "damage_length_mm": 80.0}
    facts = complete(pack, substrate, given_facts)
    decision = Decider(pack, ReferenceEngine(pack)).decide(facts.values)
    found = plan(pack, substrate, facts, decision, Terms(jurisdiction="us-federal"))
    needed = {need.material: need for need in found.materials}
    wiping = [stage.stage for stage in found.stages if "cleaner" in stage.parameters]
    assert list(needed["mild-cleaner"].stages) == wiping
    assert "solvent-cleaner" not in needed
    parts = [part.volume_ml for part in needed["mild-cleaner"].recipe.parts]
    assert abs(parts[0] - parts[1]) <= 0.1
    (mix,) = (mix for mix in found.emissions.mixes if mix.mix.material == "mild-cleaner")
    assert mix.mix.total_g_per_l == 392.5
