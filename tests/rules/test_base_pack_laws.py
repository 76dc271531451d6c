"""What holds of every procedure of the base pack: over a grid of typical line items, and over any."""

from collections.abc import Callable
from functools import cache
from itertools import product

import pytest
from base_pack_line_items import Answer, answer, answers, base_pack, decided
from hypothesis import given, settings

from rules.pack import Disposition

PLASTICS = ("TPO", "PE-HD", "PE-LD", "ABS", "PC", "PPE+PA", "POM", "PUR", "UP-GF", "unknown")
SURFACES = (
    {"condition": "factory_finish"},
    {"condition": "refinished"},
    {"condition": "replacement", "supplied_as": "primed"},
    {"condition": "replacement", "supplied_as": "bare"},
)
DAMAGES = (
    {"damage_type": "none", "forced_dry": "booth_bake"},
    {"damage_type": "none", "radar_zone": True},
    {"damage_type": "none", "airbag_cover": True},
    {"damage_type": "coating_failure"},
    {"damage_type": "coating_failure", "previous_repair_failed": True},
    {"damage_type": "scratch", "damage_length_mm": 90, "forced_dry": "infrared"},
    {"damage_type": "scratch", "damage_length_mm": 90, "load_path": True},
    {"damage_type": "gouge", "damage_length_mm": 90, "texture": "grained"},
    {"damage_type": "gouge", "damage_length_mm": 90, "radar_zone": True},
    {"damage_type": "dent", "damage_length_mm": 90, "forced_dry": "booth_bake", "high_voltage": True},
    {"damage_type": "warp", "air_temperature_c": 2, "topcoat": "single_stage"},
    {"damage_type": "crack", "damage_length_mm": 30, "relative_humidity_pct": 90},
    {"damage_type": "crack", "damage_length_mm": 90, "backside_access": True},
    {"damage_type": "crack", "damage_length_mm": 900, "backside_access": True},
    {"damage_type": "puncture", "damage_length_mm": 90, "backside_access": True, "topcoat": "texture_only"},
    {"damage_type": "broken_tab", "damage_length_mm": 20, "backside_access": True},
)
REPAIR_PHASES = {"reshape", "restore", "fill"}
REPAIR_STAGES = {
    "sand-out-scratch",
    "sand-off-finish",
    "chemical-strip",
    "check-old-finish",
    "feather-edge",
    "scuff-panel",
    "primer-surfacer",
    "restore-grain",
}
CLEANING = {
    "clean-back",
    "clean-ground-back",
    "clean-before-fill",
    "clean-before-skin",
    "clean-before-primer",
    "clean-before-colour",
}
ABRADING_WITHOUT_A_GRADE = {"scuff-panel", "scuff-grained-part"}
APART = {"bond-test"}
"""Abrades, cleans and bonds on a spot of its own."""


def one_disposition_with_reasons(asked: Answer) -> None:
    assert asked.procedure.reasons
    assert all(reason.text for reason in asked.procedure.reasons)
    assert bool(asked.order) == (asked.procedure.disposition is not Disposition.REFER)


def a_replaced_part_is_painted_and_not_repaired(asked: Answer) -> None:
    if asked.procedure.disposition is Disposition.REPLACE:
        assert not {stage.phase for stage in asked.stages} & REPAIR_PHASES
        assert not {*asked.order} & REPAIR_STAGES
        assert {"remove-mould-release", "solvent-rub-check", "sealer", "final-check"} <= {*asked.order}


def every_window_is_kept_on_the_timeline(asked: Answer) -> None:
    times = {timed.stage: timed for timed in asked.procedure.timeline.stages}
    for planned in asked.procedure.stages:
        for window in planned.windows:
            lag_min = times[planned.stage].earliest_start_min - times[window.after].work_end_min
            assert lag_min >= window.not_before_min - 0.11
            assert window.not_after_min is None or lag_min <= window.not_after_min + 0.11


def nothing_is_heated_beyond_what_the_plastic_stands(asked: Answer) -> None:
    limit_c = float(asked.substrate.properties["bake_limit_c"])
    for planned in asked.procedure.stages:
        heated_c = planned.parameters.get("temperature_c")
        assert heated_c is None or float(heated_c) <= limit_c - 10
    if "soak-outgas" in asked.order and asked.decision.derived["bake"] == "none":
        assert "overnight" in str(asked.parameter("soak-outgas", "soak"))


def only_thermoplastics_that_can_be_are_reshaped(asked: Answer) -> None:
    if "reshape" in asked.order:
        assert asked.substrate.properties["matrix"] == "thermoplastic"
        assert asked.substrate.properties["reshapeable"] is True
        low, high = (float(asked.parameter("reshape", name)) for name in ("from_c", "to_c"))
        assert 0 < low < high
        fills = [asked.order.index(name) for name in ("fill-flexible", "fill-rigid") if name in asked.order]
        assert all(asked.order.index("reshape") < at for at in fills)


def the_first_coat_on_bare_low_energy_plastic_is_a_promoter(asked: Answer) -> None:
    bare = asked.decision.derived["plastic_exposed"] and asked.decision.derived["paints"]
    if not bare or asked.substrate.properties["surface_energy"] != "low":
        return
    materials = base_pack().materials
    coats = [
        stage.id for stage in asked.stages if any(materials[m].kind == "coating" for m in stage.materials)
    ]
    assert coats[0] == "adhesion-promoter"
    between = asked.order[asked.order.index(coats[0]) + 1 : asked.order.index(coats[1])]
    assert {*between} <= {"flexible-additive-in-primer"}


def nothing_is_applied_between_abrasion_and_cleaning(asked: Answer) -> None:
    materials = base_pack().materials
    dusty_by = None
    for stage in asked.stages:
        applied = {materials[name].kind for name in stage.materials} & {"coating", "filler"}
        if stage.id in APART:
            continue
        assert not (applied and dusty_by), f"{stage.id} goes on the dust of {dusty_by}"
        if stage.id in CLEANING:
            dusty_by = None
        elif "abrasive" in stage.parameters or stage.id in ABRADING_WITHOUT_A_GRADE:
            dusty_by = stage.id


def repair_material_and_paint_bend_only_with_a_part_that_bends(asked: Answer) -> None:
    flexible = {
        "fill-flexible",
        "skin-flexible",
        "flexible-additive-in-primer",
        "flexible-additive-in-topcoat",
    }
    rigid = {"fill-rigid", "skin-rigid", "skin-back"}
    assert not {*asked.order} & (rigid if asked.substrate.properties["gives_in_use"] else flexible)


def strippers_never_touch_a_factory_finish_or_a_plastic_they_harm(asked: Answer) -> None:
    if "chemical-strip" in asked.order:
        properties = asked.substrate.properties
        assert asked.facts["condition"] == "refinished"
        assert asked.facts["previous_repair_failed"] is False
        assert (properties["swells"], properties["stress_cracks"]) == (False, False)


def no_filler_or_reinforcement_in_front_of_a_radar(asked: Answer) -> None:
    if asked.facts["radar_zone"]:
        assert not {stage.phase for stage in asked.stages} & REPAIR_PHASES


def parts_that_protect_people_are_never_repaired(asked: Answer) -> None:
    features = ("load_path", "pedestrian_protection")
    never = ("airbag_cover", "energy_absorber", "fuel_system", "lamp")
    damaged = asked.facts["damage_type"] != "none"
    if any(asked.facts[name] for name in never) or (damaged and any(asked.facts[name] for name in features)):
        assert asked.procedure.disposition is Disposition.REFER


LAWS: tuple[Callable[[Answer], None], ...] = (
    one_disposition_with_reasons,
    a_replaced_part_is_painted_and_not_repaired,
    every_window_is_kept_on_the_timeline,
    nothing_is_heated_beyond_what_the_plastic_stands,
    only_thermoplastics_that_can_be_are_reshaped,
    the_first_coat_on_bare_low_energy_plastic_is_a_promoter,
    nothing_is_applied_between_abrasion_and_cleaning,
    repair_material_and_paint_bend_only_with_a_part_that_bends,
    strippers_never_touch_a_factory_finish_or_a_plastic_they_harm,
    no_filler_or_reinforcement_in_front_of_a_radar,
    parts_that_protect_people_are_never_repaired,
)


@cache
def typical_answers() -> tuple[Answer, ...]:
    asked = product(PLASTICS, SURFACES, DAMAGES)
    return tuple(answer(plastic, **surface, **damage) for plastic, surface, damage in asked)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_typical_line_items_obey(law: Callable[[Answer], None]) -> None:
    for asked in typical_answers():
        law(asked)


@settings(max_examples=150, deadline=None)
@given(asked=answers())
def test_any_line_item_obeys_every_law(asked: Answer) -> None:
    for law in LAWS:
        law(asked)


def test_the_typical_line_items_lead_to_every_stage() -> None:
    assert {stage for asked in typical_answers() for stage in asked.order} == base_pack().stages.keys()


@pytest.mark.parametrize("symbol", base_pack().substrates)
def test_every_plastic_has_an_answer_for_every_damage(symbol: str) -> None:
    conditions = ("factory_finish", "refinished", "replacement")
    for damage in base_pack().vocabulary["damage_type"].values:
        for condition in conditions:
            given = {"damage_type": damage, "condition": condition}
            if damage not in ("none", "warp", "coating_failure"):
                given |= {"damage_length_mm": 40}
            if damage in ("dent", "crack", "tear", "puncture", "broken_tab", "warp"):
                given |= {"backside_access": True}
            decision, _ = decided(symbol, given)
            assert decision.reasons
