"""Facts, stages and rows of tables that cannot be what they say."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, changed

from rules.kinetics import ByFilm, ByHumidity, ByTemperature, Heat, activation_kj_per_mol
from rules.loading import check_files, load_files

FACTS, STAGES, TABLE = "facts.yaml", "stages.yaml", "substrates.yaml"
CUTS = "cut_points: [10, 300]"
WAIT = "wait: {minutes: 10, at_c: 20, kinetics: evaporation, activation_kj_per_mol: 40, valid_c: [15, 35]}"
POT_LIFE = (
    "pot_life: {minutes: 60, at_c: 20, times_per_10_k: 2, valid_c: [15, 30], batch_ml: 250,"
    " batch_exponent: 0.1, source: invented}"
)
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
        (WAIT, WAIT.replace("activation_kj_per_mol: 40", "times_per_10_k: 2"), None),
        (WAIT, WAIT.replace("activation_kj_per_mol: 40", "times_per_10_k: 0.5"), "R106"),
        (WAIT, WAIT.replace("activation_kj_per_mol: 40", "activation_kj_per_mol: 40000"), "R106"),
        (WAIT, WAIT.replace("valid_c", "times_per_10_k: 2, valid_c"), "R109"),
        (WAIT, WAIT.replace("[15, 35]", "[-100, 35]"), "R106"),
        (WAIT, WAIT.replace("}", ", film: {at_um: 40, exponent: 2}}"), None),
        (WAIT, WAIT.replace("}", ", film: {at_um: 0, exponent: 2}}"), "R106"),
        (WAIT, WAIT.replace("}", ", film: {at_um: 40, exponent: 9}}"), "R106"),
        (WAIT, WAIT.replace("}", ", film: {at_um: 40}}"), "R102"),
        (WAIT, WAIT.replace("}", ", humidity: {at_pct: 50, valid_pct: [20, 80]}}"), None),
        (WAIT, WAIT.replace("}", ", humidity: {at_pct: 90, valid_pct: [20, 80]}}"), "R106"),
        (WAIT, WAIT.replace("}", ", humidity: {at_pct: 50, valid_pct: [20, 100]}}"), "R106"),
        (WAIT, WAIT.replace("}", ", heat: {up_k_per_min: 4}}"), "R102"),
        (WAIT, "wait: {minutes: 10, film: {at_um: 40, exponent: 2}}", "R101"),
        (WAIT, "wait: {minutes: 10, at_c: 20}", None),
        (WAIT, "wait: {minutes: 10, at_c: warm}", "R103"),
        (WAIT, "wait: {minutes: 10}", None),
        (WAIT, "wait: null", None),
        (WINDOW, WINDOW.replace("}", ", at_c: 20, times_per_10_k: 2, valid_c: [15, 35]}"), None),
        (WINDOW, WINDOW.replace("}", ", at_c: 20, activation_kj_per_mol: 40}"), "R102"),
        (WINDOW, WINDOW.replace("}", ", at_c: 40, times_per_10_k: 2, valid_c: [15, 35]}"), "R106"),
        (WINDOW, WINDOW.replace("}", ", source: common practice}"), None),
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
        ("materials.yaml", "    film_um: 40\n", f"    film_um: 40\n    {POT_LIFE}\n", None),
        (
            "materials.yaml",
            "    film_um: 40\n",
            f"    film_um: 40\n    {POT_LIFE.replace('0.1', '2')}\n",
            "R106",
        ),
        (
            "materials.yaml",
            "    film_um: 40\n",
            f"    film_um: 40\n    {POT_LIFE.replace('60', '0')}\n",
            "R106",
        ),
        (
            "materials.yaml",
            "    film_um: 40\n",
            f"    film_um: 40\n    {POT_LIFE.replace('at_c: 20, ', '')}\n",
            "R102",
        ),
        (
            "materials.yaml",
            "    film_um: 40\n",
            "    film_um: 40\n    drying: {film: {at_um: 80, exponent: 1}}\n",
            None,
        ),
        ("materials.yaml", "    film_um: 40\n", "    film_um: 40\n    drying: {}\n", "R108"),
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


def test_the_rule_of_ten_degrees_is_read_as_an_activation_energy():
    files = changed(STAGES, WAIT, WAIT.replace("activation_kj_per_mol: 40", "times_per_10_k: 2"))
    wait = load_files([files]).stages["adhesion-promoter"].wait
    assert wait.activation_kj_per_mol == pytest.approx(51.2, abs=0.05)


def test_what_is_said_of_film_humidity_heat_and_pot_life_is_read():
    terms = ", film: {at_um: 40, exponent: 2}, humidity: {at_pct: 50, valid_pct: [20, 80]}}"
    files = changed(STAGES, WAIT, WAIT.replace("}", terms))
    wait = load_files([files]).stages["adhesion-promoter"].wait
    assert (wait.by_film, wait.by_humidity) == (ByFilm(40.0, 2.0), ByHumidity(50.0, 20.0, 80.0))
    files = changed("materials.yaml", "    film_um: 40\n", f"    film_um: 40\n    {POT_LIFE}\n")
    (pot,) = (each.pot_life for each in load_files([files]).materials.values() if each.pot_life)
    assert (pot.minutes, pot.batch_ml, pot.batch_exponent, pot.source) == (60, 250, 0.1, "invented")
    assert pot.by_temperature == ByTemperature(20.0, activation_kj_per_mol(2.0, 20.0), 15.0, 30.0)


def test_a_bake_needs_a_temperature_and_then_has_its_rates():
    heated = WAIT.replace("}", ", heat: {up_k_per_min: 4, handling_c: 40}}")
    files = changed(STAGES, WAIT, heated)
    (found,) = check_files([files]).findings
    assert found.message == "'heat' needs to know how warm; list 'temperature_c' in 'parameters'"
    files = {**files, STAGES: files[STAGES].replace("{coats: 1}", "{coats: 1, temperature_c: 60}")}
    assert load_files([files]).stages["adhesion-promoter"].wait.heat == Heat(4.0, None, 40.0)
    files = {**files, STAGES: files[STAGES].replace("{up_k_per_min: 4, handling_c: 40}", "{}")}
    assert codes(files) == ["R108"]


def test_applying_is_a_part_of_the_fixed_work():
    words = "work: {fixed_min: 5, per_m2_min: 4}"
    files = changed(STAGES, words, "work: {fixed_min: 5, applying_min: 2, per_m2_min: 4}")
    assert load_files([files]).stages["solvent-clean"].work.applying_min == 2
    assert load_files([SMALL]).stages["solvent-clean"].work.applying_min == 0
    (found,) = check_files([changed(STAGES, words, "work: {fixed_min: 5, applying_min: 6}")]).findings
    assert (found.code, found.message) == ("R106", "'applying_min' is 6; write a number from 0 to 5")


MILD = (
    "materials:\n  - {id: mild, title: Mild cleaner, called: a mild cleaner, kind: cleaner,"
    " use_ml_per_m2: 50, voc_g_per_l: 390, source: invented}\n"
)


@pytest.mark.parametrize(("said", "code"), [("a mild cleaner", None), ("another cleaner", "R208")])
def test_a_cleaner_that_a_parameter_calls_for_is_used(said: str, code: str | None):
    files = changed(STAGES, "      - Wipe one way.", "      - Wipe with {cleaner}.")
    used = f"parameters: {{cleaner: {said}}}\n    materials: [solvent-cleaner]"
    files = {**files, STAGES: files[STAGES].replace("materials: [solvent-cleaner]", used), "mild.yaml": MILD}
    assert codes(files) == ([code] if code else [])


def test_only_a_cleaner_is_called_for():
    files = changed("materials.yaml", "    film_um: 40\n", "    film_um: 40\n    called: a primer\n")
    assert codes(files) == ["R101"]
