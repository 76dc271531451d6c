"""The example overlay: it loads clean, its cases pass, and only what it says is different."""

import pytest
from base_pack_line_items import base_pack

from planning.order import ordered
from rules.cases import failures, run_cases, unexercised
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, Checked, check_folder

FOLDER = BASE_PACK.parent / "example-overlay"


@pytest.fixture(scope="module")
def overlay() -> Checked:
    return check_folder(FOLDER)


def test_the_overlay_is_clean_and_its_cases_pass(overlay: Checked) -> None:
    assert overlay.findings == ()
    pack = overlay.pack
    assert pack is not None
    results = run_cases(
        pack,
        overlay.cases,
        Decider(pack, ReferenceEngine(pack)),
        lambda pack, stages: ordered(pack.stages, stages, pack.phases),
    )
    assert failures(pack, results) == ()
    assert unexercised(pack, results) == ()


def test_it_changes_two_stages_adds_one_and_two_rules_and_withdraws_one(overlay: Checked) -> None:
    pack = overlay.pack
    assert pack is not None
    base = base_pack()
    changed = {name for name in base.stages if pack.stages[name] != base.stages[name]}
    assert changed == {"adhesion-promoter", "wash"}
    assert pack.stages.keys() - base.stages.keys() == {"photograph-damage"}
    assert pack.rules.keys() - base.rules.keys() == {"house-photographs", "house-bake-at-50"}
    assert base.rules.keys() - pack.rules.keys() == {"coarser-finish-under-texture"} == pack.withdrawn.keys()


def test_the_overlay_says_that_it_is_invented() -> None:
    for path in FOLDER.rglob("*.yaml"):
        assert "invented" in path.read_text(encoding="utf-8") or path.parent.name == "cases", path
