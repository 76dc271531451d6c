"""Work that a break may interrupt: read from files, and only where it does no harm in the base pack."""

from __future__ import annotations

import pytest
from tiny_pack import changed

from rules.loading import BASE_PACK, check_files, load_files, load_folder


def pausing(value: str) -> dict[str, str]:
    return changed(
        "stages.yaml",
        "    work: {fixed_min: 5, per_m2_min: 4}\n",
        f"    work: {{fixed_min: 5}}\n    may_pause: {value}\n",
    )


@pytest.mark.parametrize(("value", "may_pause"), [("true", True), ("false", False), ("null", False)])
def test_a_stage_says_whether_its_work_may_pause(value: str, may_pause: bool):
    stages = load_files([pausing(value)]).stages
    assert stages["solvent-clean"].may_pause is may_pause
    assert stages["prime"].may_pause is False


def test_anything_but_a_truth_value_is_told():
    assert "R103" in [finding.code for finding in check_files([pausing("sometimes")]).findings]


def test_nothing_that_dries_on_the_part_is_left_half_done():
    """Whoever goes for a break while a cleaner or a coating is wet begins anew."""
    pack = load_folder(BASE_PACK)
    wet = {
        name for name, material in pack.materials.items() if material.kind in ("coating", "cleaner", "filler")
    }
    pausing = {stage.id: stage for stage in pack.stages.values() if stage.may_pause}
    assert pausing
    for stage in pausing.values():
        assert not wet.intersection(stage.materials), stage.id
        assert stage.wait.minutes == 0, stage.id
