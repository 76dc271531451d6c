"""Facts, stages and rows of tables that cannot be what they say."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, changed

from rules.loading import check_files, load_files

FACTS, STAGES, TABLE = "facts.yaml", "stages.yaml", "substrates.yaml"
CUTS = "cut_points: [10, 300]"
WAIT = "wait: {minutes: 10, at_c: 20, kinetics: evaporation, activation_kj_per_mol: 40, valid_c: [15, 35]}"
WINDOW = "{to: [prime], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}"
ORIGIN = "origin: rules\n    default: false"


def codes(files) -> list[str]:
    return [found.code for found in check_files([files]).findings]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("kind: boolean\n    origin", "kind: truth\n    origin", "R105"),
        ("    kind: boolean\n    origin: rules", "    origin: rules", "R102"),
        ("values: {low: Below 35 mN/m., high: The rest.}", "values: [low, high]", "R103"),
        ("values: {low: Below 35 mN/m., high: The rest.}", "values: {}", "R108"),
        (CUTS, CUTS + "\n    values: {some: One.}", "R101"),
        (CUTS, "cut_points: [0, 10, 300]", "R126"),
        (CUTS, "cut_points: [10, 10, 300]", "R126"),
        (CUTS, "cut_points: [10, 300, 3001]", "R126"),
        ("minimum: 20\n    maximum: 250\n    cut_points: [60]", "minimum: 90\n    maximum: 50", "R127"),
        ("otherwise: 0", "otherwise: 4000", "R106"),
        ("otherwise: 0", "otherwise: none", "R103"),
        ("default: false\n  damage", "default: 0\n  damage", "R103"),
        (ORIGIN, "origin: rules", "R125"),
        (ORIGIN, ORIGIN + "\n    given_as: /promoter", "R125"),
        (CUTS, CUTS + "\n    default: null", None),
        ("given_as: /damage/type", "given_as: /damage/ty~2pe", "R130"),
        ("given_as: /damage/type", "given_as: /damage/ty~1pe", None),
    ],
)
def test_facts(old: str, new: str, code: str | None):
    found = codes(changed(FACTS, old, new))
    assert found == ([code] if code else [])


@pytest.mark.parametrize("name", ["any", "material"])
def test_a_fact_may_not_be_called_like_a_part_of_a_condition_or_case(name: str):
    declared = f"facts:\n  {name}: {{about: One., kind: boolean, given_as: /one, default: false}}\n"
    assert codes({**SMALL, "more.yaml": declared}) == ["R104"]


def test_a_fact_is_named_in_snake_case():
    declared = "facts:\n  Paint-Code: {about: One., kind: boolean, given_as: /code, default: false}\n"
    (found,) = check_files([{**SMALL, "more.yaml": declared}]).findings
    assert (found.code, found.place.line, found.place.column) == ("R104", 2, 3)
    assert found.message.endswith("write 'paint_code'")


def test_a_fact_that_hangs_on_one_that_may_not_apply_is_refused():
    declared = (
        "facts:\n  long: {about: One., kind: boolean, given_as: /long, otherwise: false,"
        " applies_when: {damage_length_mm: {at_least: 10}}}\n"
    )
    assert codes({**SMALL, "more.yaml": declared}) == ["R124"]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (WAIT, "wait: {minutes: 10, kinetics: cure, at_c: 20, valid_c: [15, 35]}", "R102"),
        (WAIT, WAIT.replace("[15, 35]", "[]"), "R103"),
        (WAIT, WAIT.replace("[15, 35]", "[15]"), "R103"),
        (WAIT, WAIT.replace("[15, 35]", "15"), "R103"),
        (WAIT, WAIT.replace("[15, 35]", "[35, 15]"), "R127"),
        (WAIT, WAIT.replace("at_c: 20", "at_c: 40"), "R106"),
        (WAIT, WAIT.replace("evaporation", "diffusion"), "R105"),
        (WAIT, "wait: {minutes: 10}", None),
        (WAIT, "wait: null", None),
        (WINDOW, WINDOW.replace("30", "null"), None),
        (WINDOW, WINDOW.replace("if_missed: adhesion-promoter", "if_missed: null"), None),
        (WINDOW, WINDOW.replace("if_missed: adhesion-promoter", "if_missed: promoter"), "R116"),
        (WINDOW, WINDOW.replace(", if_missed: adhesion-promoter", ""), "R102"),
        (WINDOW, WINDOW.replace("[prime]", "[]"), "R108"),
        ("- Wipe one way.", "- Wipe {one way.", "R129"),
        ("- Wipe one way.", "- Wipe {wait_min} times.", "R129"),
        ("- Wipe one way.", '- "{coats}"', "R129"),
        ("after: [solvent-clean]", "after: solvent-clean", "R103"),
        ("resource: bench", "resource: yard", "R120"),
        ("spread: 0.3", "spread: 3", "R106"),
        ("coats: 2, abrasive", "coats: 2.5, abrasive", "R106"),
    ],
)
def test_stages(old: str, new: str, code: str | None):
    assert codes(changed(STAGES, old, new)) == ([code] if code else [])


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        (TABLE, "symbol: ABS", "symbol: abs", "R104"),
        (TABLE, "symbol: ABS", "symbol: ABS+PC-(GF10+MD5)", None),
        (TABLE, "bake_limit_c: 80", "bake_limit_c: 800", "R106"),
        (TABLE, "bake_limit_c: 80", "bake_limit_c: 80, radar_zone: true", "R115"),
        (TABLE, "low: 1.03, high: 1.07", "low: 1.07, high: 1.03", "R127"),
        (TABLE, "density_g_per_cm3", "density", "R105"),
        ("materials.yaml", "kind: coating", "kind: paint", "R105"),
        ("materials.yaml", "    film_um: 40\n", "", "R102"),
        ("materials.yaml", "volume_solids_pct: 45", "volume_solids_pct: 145", "R106"),
        ("materials.yaml", "kind: consumable", "kind: consumable, film_um: 4", "R101"),
        ("cautions.yaml", "ghs: [H336]", "ghs: [336]", "R103"),
        ("cautions.yaml", "ghs: [H336]", "ghs: [R20]", "R104"),
        ("cautions.yaml", "hazard: It dulls and burns.", 'hazard: " "', "R108"),
    ],
)
def test_rows_of_tables(file: str, old: str, new: str, code: str | None):
    found = codes(changed(file, old, new))
    assert found == ([code] if code else [])


def test_a_parameter_that_is_a_text_goes_into_the_instructions():
    files = changed(
        STAGES,
        "- Wipe one way.\n    work",
        "- Wipe with {cloth}.\n    parameters: {cloth: a lint-free cloth}\n    work",
    )
    assert load_files([files]).stages["solvent-clean"].parameters == {"cloth": "a lint-free cloth"}
