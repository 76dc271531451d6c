"""The base pack as a catalogue: clean, as large as it has to be, and every part of it fit to be read."""

import re

from base_pack_line_items import base_pack, checked_base_pack

from rules.pack import Stage

TWO_PACK = {"primer-surfacer", "sealer", "clearcoat", "single-stage-topcoat"}
"""Coatings that a hardener with isocyanate cures."""


def stages_with_materials(*materials: str) -> list[Stage]:
    return [stage for stage in base_pack().stages.values() if {*materials} & {*stage.materials}]


def test_the_checks_find_nothing() -> None:
    assert checked_base_pack().findings == ()


def test_the_pack_is_complete() -> None:
    pack = base_pack()
    assert len(pack.substrates) >= 36
    assert len(pack.stages) >= 45
    assert len(pack.cautions) >= 24
    assert len(checked_base_pack().cases) >= 120


def test_every_rule_has_a_reason_and_a_source() -> None:
    assert all(len(rule.why) > 20 for rule in base_pack().rules.values())
    assert all(rule.source for rule in base_pack().rules.values())


def test_every_stage_is_told_in_one_to_five_short_steps() -> None:
    for stage in base_pack().stages.values():
        assert 1 <= len(stage.instructions) <= 5, stage.id
        assert all(step.endswith((".", "}")) for step in stage.instructions), stage.id
        assert max(map(len, stage.instructions)) < 330, stage.id


def test_every_reason_that_decides_is_a_reason_of_its_own() -> None:
    reasons = [rule.decide.reason for rule in base_pack().rules.values() if rule.decide]
    assert len(reasons) == len(set(reasons))


def test_every_caution_defers_to_something() -> None:
    authorities = re.compile(r"data sheet|[Ll]ocal codes|vehicle maker|[Ll]icensed practice|manual")
    for caution in base_pack().cautions.values():
        assert authorities.search(caution.defer), caution.id
        assert "prevail" in caution.defer, caution.id


def test_what_sprays_two_pack_material_warns_of_isocyanates() -> None:
    spraying = stages_with_materials(*TWO_PACK)
    assert len(spraying) == len(TWO_PACK)
    for stage in spraying:
        assert {"isocyanates", "solvent-vapour", "spray-mist"} <= {*stage.cautions}, stage.id
        assert stage.resource == "booth", stage.id


def test_isocyanates_call_for_supplied_air_and_medical_surveillance() -> None:
    protect = base_pack().cautions["isocyanates"].protect
    assert "supplied-air" in protect
    assert "medical surveillance" in protect


def test_what_wipes_with_solvent_warns_of_vapour_fire_and_rags() -> None:
    for stage in stages_with_materials("solvent-cleaner"):
        assert {"solvent-vapour", "fire-and-ignition", "rags-and-waste"} <= {*stage.cautions}, stage.id
        assert "cleaner" in stage.parameters, stage.id


def test_what_sands_or_grinds_warns_of_dust() -> None:
    for stage in base_pack().stages.values():
        if "abrasive" in stage.parameters:
            assert "sanding-dust" in stage.cautions, stage.id


def test_what_heats_warns_of_heat() -> None:
    heating = (
        "reshape",
        "weld-back",
        "weld-front",
        "bake-primer",
        "bake-topcoat",
        "soak-outgas",
        "warm-primer-slowly",
        "warm-topcoat-slowly",
    )
    for name in heating:
        assert {"hot-air-gun", "bake-heat"} & {*base_pack().stages[name].cautions}, name
