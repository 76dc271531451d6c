from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from material_samples import pack_of, row

from rules.codes import CODES
from rules.loading import BASE_PACK, load_folder
from rules.loading.checked import PackRefused
from rules.materials.identification import reading
from rules.materials.identification.figures import FigureRule, results_of
from rules.materials.identification.reading import check_tables, load_tables
from rules.pack import Figure, Pack

ROWS = (
    row("PP", density=(0.9, 0.91), matrix="thermoplastic", surface_energy="low"),
    row("ABS", density=(1.03, 1.06), matrix="thermoplastic", surface_energy="medium"),
    row("EP", density=(0.95, 1.15), matrix="thermoset", surface_energy="high"),
    row("unknown", matrix="thermoset", surface_energy="low"),
)

SETTINGS = "  settings: {agreement: 0.95, worthwhile: 0.02, marking_trust: 0.97, source: invented}\n"
TEXT = f"""identification:
{SETTINGS}
  never:
    - {{test: burn, why: Its fumes are poisonous.}}
  tests:
    - id: float
      question: Does it float?
      how: [Put it into water.]
      safety: Cut away from the hand.
      results: {{floats: It rises., sinks: It goes down.}}
      source: invented
    - id: warm_air
      question: Does it soften?
      how: [Warm it.]
      safety: Outdoors.
      results: {{softens: It gives., no_change: It stays.}}
      source: invented
  likelihoods:
    - test: float
      when: always
      figure: {{name: density_g_per_cm3, cuts: [1], results: [floats, sinks], error: 0.1}}
      why: Its density.
      source: derived
    - test: warm_air
      when: {{matrix: thermoplastic}}
      likely: {{softens: 0.9, no_change: 0.1}}
      why: It melts.
      source: invented
    - test: warm_air
      when: {{matrix: {{not: thermoplastic}}}}
      likely: {{softens: 0.1, no_change: 0.9}}
      why: It does not melt.
      source: invented
    - test: warm_air
      substrates: [ABS]
      likely: {{softens: 0.8, no_change: 0.2}}
      why: Its own line goes before that of its class.
      source: invented
  priors:
    - part: grille
      words: [grille]
      weights: {{ABS: 8}}
      others: 1
      source: invented
    - part: any part
      weights: {{PP: 2, ABS: 1}}
      others: 1
      source: invented
"""


def sample(text: str = TEXT, **overlays: str) -> Pack:
    files = {name: {"identification.yaml": written} for name, written in {"base": text, **overlays}.items()}
    return pack_of(*ROWS, files=files)


def test_tables_are_read_for_every_material_but_the_unknown_one() -> None:
    tables = load_tables(sample())
    assert set(tables.properties) == {"PP", "ABS", "EP"}
    assert list(tables.tests) == ["float", "warm_air"]
    assert (tables.agreement, tables.worthwhile, tables.marking_trust) == (0.95, 0.02, 0.97)
    assert {symbol: rows.results["softens"] for symbol, rows in tables.likelihoods["warm_air"].items()} == {
        "PP": 0.9,
        "ABS": 0.8,
        "EP": 0.1,
    }
    assert [prior.part for prior in tables.priors] == ["grille", "any part"]
    assert tables.priors[0].beliefs == {"PP": 0.1, "ABS": 0.8, "EP": 0.1}
    assert tables.priors[1].beliefs == {"PP": 0.5, "ABS": 0.25, "EP": 0.25}


def test_a_figure_gives_the_share_of_its_range_on_each_side_of_the_cut() -> None:
    floats = {
        symbol: rows.results["floats"] for symbol, rows in load_tables(sample()).likelihoods["float"].items()
    }
    assert floats == pytest.approx({"PP": 0.95, "ABS": 0.05, "EP": 0.9 * 0.25 + 0.05})


def test_several_cuts_share_a_figure_out_among_their_results() -> None:
    rule = FigureRule("flexural_modulus_mpa", (70, 700), ("flexible", "semi_rigid", "rigid"), 0.3)
    assert results_of(rule, Figure(35, 1050, "invented")) == pytest.approx(
        {
            "flexible": 0.7 * 35 / 1015 + 0.1,
            "semi_rigid": 0.7 * 630 / 1015 + 0.1,
            "rigid": 0.7 * 350 / 1015 + 0.1,
        }
    )
    assert results_of(rule, Figure(70, 70, "invented"))["semi_rigid"] == pytest.approx(0.8)


def test_an_overlay_adds_a_test_with_its_likelihoods_and_may_settle_otherwise() -> None:
    overlay = """identification:
  settings: {agreement: 0.9, worthwhile: 0.02, marking_trust: 0.97, source: invented}
  tests:
    - id: ring
      question: Does it ring?
      how: [Tap it.]
      safety: Gently.
      results: {dull: A thud., rings: A clink.}
      source: invented
  likelihoods:
    - test: ring
      when: always
      likely: {dull: 0.5, rings: 0.5}
      why: It tells nothing.
      source: invented
"""
    tables = load_tables(sample(shop=overlay))
    assert list(tables.tests) == ["float", "warm_air", "ring"]
    assert tables.agreement == 0.9


BURN = """    - id: burn
      question: Does it burn?
      how: [Light it.]
      safety: None.
      results: {soot: Black., clean: None.}
      source: invented
  likelihoods:
    - test: burn
      when: always
      likely: {soot: 0.5, clean: 0.5}
      why: It tells little.
      source: invented
"""


SOFTENS = "{softens: 0.9, no_change: 0.1}"
THERMOPLASTIC = "when: {matrix: thermoplastic}"
OTHERS = "when: {matrix: {not: thermoplastic}}"
SAID = "{softens: It gives., no_change: It stays.}"
SECOND_FLOAT = "id: float\n      question: Does it soften"

OTHER_GRILLE = """    - part: other grille
      words: [grille]
      weights: {}
      others: 1
      source: invented
    - part: any part"""

FAULTS = (
    # What stands in the text, what takes its place, the code, the text at its place, the fix.
    (SOFTENS, "{softens: 0.9, no_change: 0.2}", "R503", "{softens: 0.9", "add up to 1.1"),
    (SOFTENS, "{softens: 0.9}", "R503", "{softens: 0.9}", "without no_change"),
    (SOFTENS, "{softens: 1, no_change: 0}", "R106", "1, no_change: 0}", "0.995"),
    (SOFTENS, "{softens: 0.9, stays: 0.1}", "R506", "stays: 0.1", "unknown result"),
    (SAID, "{softens: It gives.}", "R503", "{softens: It gives.}", "two results"),
    ("test: float", "test: flaot", "R505", "flaot", "did you mean 'float'"),
    ("[ABS]", "[ABBS]", "R132", "ABBS", "did you mean 'ABS'"),
    ("{ABS: 8}", "{ABS: 0}", "R106", "0}\n      others", "0.001"),
    ("{ABS: 8}", "{unknown: 8}", "R132", "unknown: 8", "unknown substrate"),
    (THERMOPLASTIC, "when: {matrix: plastic}", "R110", "plastic}", "no value of 'matrix'"),
    (THERMOPLASTIC, "when: {damage: crack}", "R012", "damage: crack", "unknown fact"),
    (THERMOPLASTIC + "\n      ", "", "R102", "test: warm_air\n      likely", "either 'when'"),
    ("results: [floats, sinks]", "results: [floats]", "R503", "{name: density", "floats, sinks"),
    ("cuts: [1]", "cuts: [2, 1]", "R503", "[2, 1]", "ascend"),
    ("name: density_g_per_cm3", "name: melting_c", "R504", "test: float\n      when", "no figure"),
    ("agreement: 0.95", "agreement: 1", "R106", "1, worthwhile", "0.999"),
    ("{not: thermoplastic}", "thermoplastic", "R502", "id: warm_air", "2 likelihoods for PP"),
    (OTHERS, "substrates: [PP]", "R502", "id: warm_air", "0 likelihoods for EP"),
    ("id: warm_air", "id: float", "R107", SECOND_FLOAT, "second time"),
    ("    - part: any part", OTHER_GRILLE, "R107", "part: other grille", "another prior"),
    ("part: any part", "part: anything", "R507", "{agreement", "'any part'"),
    ("  likelihoods:\n", BURN, "R508", "id: burn", "poisonous"),
    (SETTINGS, "", "R501", "identification:", "write 'identification:'"),
    ("safety: Outdoors.\n      ", "", "R102", "id: warm_air", "lacks 'safety'"),
    ("safety: Outdoors.", "safety: Outdoors.\n      cautions: [hot]", "R118", "hot]", "unknown caution"),
    ("safety: Outdoors.", "safety: Outdoors.\n      not_on: [lmap]", "R012", "lmap]", "unknown fact"),
    ("words: [grille]", "words: [grille]\n      not_done: [flaot]", "R505", "flaot]", "did you mean 'float'"),
)


@pytest.mark.parametrize(("old", "new", "code", "at", "says"), FAULTS)
def test_a_fault_is_found_where_it_stands_with_its_fix(
    old: str, new: str, code: str, at: str, says: str
) -> None:
    assert old in TEXT
    text = TEXT.replace(old, new, 1)
    found = [finding for finding in check_tables(sample(text)) if finding.code == code]
    start = text.index(at)
    places = {(finding.place.line, finding.place.column) for finding in found}
    assert (text.count("\n", 0, start) + 1, start - text.rfind("\n", 0, start)) in places
    assert any(says in finding.message for finding in found)
    assert {finding.place.file for finding in found} == {"identification.yaml"}
    assert code in CODES


def test_a_pack_without_tables_is_refused() -> None:
    with pytest.raises(PackRefused) as refused:
        load_tables(pack_of(*ROWS))
    assert [finding.code for finding in refused.value.findings] == ["R501"]


def test_the_example_that_explains_the_format_is_without_fault() -> None:
    page = Path(reading.__file__).with_name("README.md").read_text(encoding="utf-8")
    example = page.split("```yaml\n")[1].split("```")[0]
    base = load_folder(BASE_PACK)
    assert check_tables(replace(base, files={"base": {"identification.yaml": example}})) == ()


def test_every_code_of_identification_is_shown_by_a_test_here() -> None:
    assert {code for code in CODES if code.startswith("R5")} <= {code for _, _, code, _, _ in FAULTS}
