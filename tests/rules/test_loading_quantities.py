"""Mixes, losses, packages and amounts: what is read, and what cannot be."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, changed

from rules.amounts import Amount, Loss, Shape
from rules.loading import check_files, load_files

MATERIALS, STAGES = "materials.yaml", "stages.yaml"
VOC = "    voc_g_per_l: 540\n"
BASE = "{id: base, title: Base, parts: 4, density_g_per_ml: 1.5, voc_g_per_l: 430, role: base"
ADDITIVE = "{id: additive, title: A, parts: 1, density_g_per_ml: 1, voc_g_per_l: 250, role: additive"
HARDENER = "{id: hardener, title: H, parts: 1, density_g_per_ml: 1.1, voc_g_per_l: 490, role: hardener"
REDUCER = "{id: reducer, title: R, parts: 1, density_g_per_ml: 0.9, voc_g_per_l: 870, role: reducer"


def mixed(*components: str, more: str = "") -> dict[str, str]:
    """The small pack with a mixed primer; a component is written up to its closing brace."""
    lines = "".join(f"      - {component}}}\n" for component in components)
    return changed(MATERIALS, VOC, f"    mix:\n{lines}{more}")


def findings(files) -> list[tuple[str, str]]:
    return [(found.code, found.message) for found in check_files([files]).findings]


def primer_of(files):
    return load_files([files]).materials["primer"]


def test_a_mix_is_read_in_its_order_and_gives_content_and_density():
    primer = primer_of(
        mixed(BASE + ", packages_ml: [3500, 1000]", ADDITIVE + ", only_with: prime", HARDENER, REDUCER)
    )
    assert [each.role for each in primer.mix] == ["base", "additive", "hardener", "reducer"]
    assert primer.mix[0].packages_ml == (1000, 3500)
    assert (primer.mix[1].only_with, primer.mix[0].only_with) == ("prime", None)
    # Without the additive, which not every procedure joins: 4 : 1 : 1.
    assert primer.voc_g_per_l == pytest.approx((4 * 430 + 490 + 870) / 6)
    assert primer.density_g_per_ml == pytest.approx((4 * 1.5 + 1.1 + 0.9) / 6)


@pytest.mark.parametrize(
    ("components", "code", "says"),
    [
        ([HARDENER, BASE], "R137", "begin with the base"),
        ([BASE, REDUCER, ADDITIVE], "R137", "the additive 'additive' goes in before the reducer"),
        ([BASE, REDUCER, HARDENER], "R137", "the hardener 'hardener' goes in before the reducer"),
        ([BASE, HARDENER, ADDITIVE], "R137", "the additive 'additive' goes in before the hardener"),
        ([BASE, BASE], "R109", "'base' twice"),
        ([BASE, ADDITIVE + ", only_with: priem"], "R116", "did you mean 'prime'?"),
        ([BASE + ", only_with: prime"], "R101", "a base goes into every mix"),
        ([BASE + ", water_pct: 60, exempt_pct: 50, exempt_density_g_per_ml: 1.1"], "R106", "110 %"),
        ([BASE + ", exempt_pct: 50"], "R102", "exempt_density_g_per_ml"),
        ([BASE.replace("voc_g_per_l: 430", "voc_g_per_l: 1600")], "R106", "a litre weighs 1500 g"),
        ([BASE.replace("parts: 4", "parts: 0")], "R106", "'parts' is 0"),
        ([BASE.replace("role: base", "role: binder")], "R105", "'role' is 'binder'"),
        ([BASE + ", packages_ml: [0.5]"], "R106", "from 5 to 250000"),
        ([BASE + ", packages_ml: [50.5]"], "R106", "whole millilitres"),
        ([BASE + ", packages_ml: [50, 50]"], "R109", "take one away"),
        ([BASE + ", packages_ml: [10, 20, 30, 40, 50, 60, 70]"], "R106", "at most 6"),
        ([], "R108", "'mix'"),
    ],
)
def test_a_mix_that_cannot_be(components, code, says):
    files = mixed(*components) if components else changed(MATERIALS, VOC, "    mix: []\n")
    ((found, message),) = findings(files)
    assert found == code
    assert says in message


@pytest.mark.parametrize("member", ["voc_g_per_l: 400", "density_g_per_ml: 1", "packages_ml: [100]"])
def test_what_is_mixed_does_not_state_what_follows_from_its_components(member):
    ((code, message),) = findings(mixed(BASE, more=f"    {member}\n"))
    assert code == "R101"
    assert message.startswith("the mixed material 'primer' has no member")


def test_a_filler_is_not_mixed_from_components():
    files = changed(MATERIALS, "kind: consumable", "kind: filler, mix: []")
    assert [code for code, _ in findings(files)] == ["R101"]


def test_losses_packages_and_pieces_are_read():
    cup = "{what: left in the cup, ml: 20, source: invented}"
    spoiled = "{what: spoiled, pct: 5, source: invented}"
    more = f"    losses: [{cup}, {spoiled}]\n"
    assert primer_of(mixed(BASE, more=more)).losses == (
        Loss("left in the cup", "invented", ml=20), Loss("spoiled", "invented", pct=5),
    )  # fmt: skip
    files = changed(
        MATERIALS, "kind: consumable", "kind: consumable, lasts_cm2: 400, graded: true, packages_ml: [50]"
    )
    promoter = load_files([files]).materials["promoter"]
    assert (promoter.lasts_cm2, promoter.graded, promoter.packages_ml) == (400, True, (50,))


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("{what: lost, source: invented}", "R102"),
        ("{what: lost, ml: -1, source: invented}", "R106"),
        ("{what: lost, ml: 1}", "R102"),
        ("{what: lost, pct: 101, source: invented}", "R106"),
    ],
)
def test_a_loss_that_cannot_be(row, code):
    assert [found for found, _ in findings(mixed(BASE, more=f"    losses: [{row}]\n"))] == [code]


def test_an_alternative_is_a_material_and_another():
    files = changed(MATERIALS, VOC, VOC + "    alternative: primer\n")
    ((code, message),) = findings(files)
    assert (code, "names itself" in message) == ("R119", True)
    ((code, message),) = findings(changed(MATERIALS, VOC, VOC + "    alternative: prime\n"))
    assert (code, "did you mean 'primer'?" in message) == ("R119", True)


CLEANS = "materials: [solvent-cleaner]"


def with_amount(row: str) -> dict[str, str]:
    return changed(STAGES, CLEANS, f"{CLEANS}\n    amounts: [{row}]")


def test_an_amount_is_read_with_the_defaults_of_its_shape():
    files = with_amount("{material: solvent-cleaner, shape: dish, taper_mm: 20}")
    (amount,) = next(
        stage.amounts for stage in load_files([files]).stages.values() if "solvent-cleaner" in stage.materials
    )
    assert amount == Amount(
        "solvent-cleaner",
        Shape.DISH,
        {"taper_mm": 20, "overfill_mm": 0, "run_out_mm": 0, "least_depth_mm": 0},
    )


@pytest.mark.parametrize(
    ("row", "code", "says"),
    [
        ("{material: solvent-cleaner, shape: dish}", "R102", "taper_mm"),
        ("{material: solvent-cleaner, shape: dish, taper_mm: 20, out_mm: 3}", "R101", "has no 'out_mm'"),
        ("{material: solvent-cleaner, shape: bowl, taper_mm: 20}", "R105", "'bowl'"),
        ("{material: solvent-cleaner, shape: dish, taper_mm: -1}", "R106", "'taper_mm'"),
        ("{material: solvent-cleaner, shape: v_groove, angle_deg: 180}", "R106", "to 179"),
        ("{material: solvent-cleaner, shape: pieces, fixed: 1, grade: P81}", "R128", "did you mean 'P8"),
        ("{material: primer, shape: pieces, fixed: 1}", "R119", "which the stage does not use"),
        ("{material: primr, shape: pieces, fixed: 1}", "R119", "did you mean 'primer'?"),
    ],
)
def test_an_amount_that_cannot_be(row, code, says):
    ((found, message),) = findings(with_amount(row))
    assert found == code
    assert says in message


@pytest.mark.parametrize(
    ("parameter", "code"),
    [
        ("covers: repair, around_mm: 80", None),
        ("covers: spot", "R105"),
        ("around_mm: -1", "R106"),
        ("depth_pct: half", "R103"),
        ("layers: 1.5", "R106"),
    ],
)
def test_parameters_of_quantities(parameter, code):
    files = changed(STAGES, "{coats: 1}", f"{{coats: 1, {parameter}}}")
    assert [found for found, _ in findings(files)] == ([code] if code else [])


def test_a_rule_may_set_what_a_stage_covers_to_what_there_is():
    files = changed(STAGES, "{coats: 1}", "{coats: 1, covers: repair}")
    rules = files["rules/refinish.yaml"]
    old = "set: {adhesion-promoter.coats: 2}"
    assert rules.count(old) == 1
    files["rules/refinish.yaml"] = rules.replace(old, "set: {adhesion-promoter.covers: everything}")
    assert "R105" in [found for found, _ in findings(files)]


def test_the_small_pack_itself_is_sound():
    assert findings(SMALL) == []
