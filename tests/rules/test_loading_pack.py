"""What the texts of a pack become."""

from __future__ import annotations

from datetime import date

import pytest
import yaml
from planted_faults import OF_FILES
from tiny_pack import SMALL, changed

from planning.abrasives import grades
from rules.conditions import All, Any, OneOf, Within
from rules.loading import check_files, load_files
from rules.loading.grades import P_GRADES
from rules.pack import Disposition, Kinetics, Wait, Window
from rules.places import Place
from rules.vocabulary import Kind, Origin

RULES = "rules/refinish.yaml"


@pytest.fixture(scope="module")
def pack():
    return load_files([SMALL])


def when(text: str):
    """The condition of a rule that is written so."""
    return (
        load_files([changed(RULES, "when: {surface_energy: low}", f"when: {text}")])
        .rules["low-energy-needs-promoter"]
        .when
    )


def codes(files) -> list[str]:
    return [found.code for found in check_files([files]).findings]


def test_the_header(pack):
    assert (pack.name, pack.version, pack.title) == ("small", "0.1.0", "A small invented pack")
    assert (pack.effective_from, pack.effective_until) == (date(2026, 1, 1), None)
    assert (pack.phases, pack.resources, pack.labour) == (
        ("clean", "prime"),
        ("bench", "booth"),
        ("body", "refinish"),
    )
    assert pack.files == {"small": SMALL}


def test_a_date_may_stand_in_quotes_and_must_be_one():
    quoted = changed("pack.yaml", "effective_from: 2026-01-01", 'effective_from: "2026-01-01"')
    assert load_files([quoted]).effective_from == date(2026, 1, 1)
    assert codes(changed("pack.yaml", "effective_from: 2026-01-01", "effective_from: 2026-02-30")) == ["R106"]
    assert codes(changed("pack.yaml", "effective_until: null", "effective_until: 2025-12-31")) == ["R127"]
    assert codes(changed("pack.yaml", "title: A small invented pack", "title: 2026-01-01")) == ["R103"]


def test_facts(pack):
    length = pack.vocabulary["damage_length_mm"]
    assert (length.kind, length.origin, length.unit) == (Kind.NUMBER, Origin.LINE_ITEM, "mm")
    assert (length.minimum, length.maximum, length.cut_points) == (0.0, 3000.0, (10.0, 300.0))
    assert (length.otherwise, length.given_as) == (0.0, "/damage/length_mm")
    assert length.applies_when == All((OneOf("damage_type", ("crack",)),))
    assert all(isinstance(number, float) for number in (length.minimum, length.otherwise, *length.cut_points))
    assert pack.vocabulary["radar_zone"].default is False
    assert pack.vocabulary["needs_promoter"].origin is Origin.RULES
    assert pack.vocabulary["damage_type"].values == {"scratch": "Not deep.", "crack": "A break."}


def test_an_enumeration_may_have_a_further_member_for_when_it_does_not_apply():
    declared = """\
facts:
  supplied_as:
    about: How the part was supplied.
    kind: enumeration
    values: {primed: With a primer., bare: Without.}
    given_as: /part/supplied_as
    applies_when: {damage_type: crack}
    otherwise: not_supplied
"""
    pack = load_files([{**SMALL, "more.yaml": declared}])
    assert pack.vocabulary["supplied_as"].domain == ("primed", "bare", "not_supplied")
    assert codes({**SMALL, "more.yaml": declared + "    default: not_supplied\n"}) == ["R110"]


def test_stages(pack):
    promoter, prime = pack.stages["adhesion-promoter"], pack.stages["prime"]
    assert promoter.wait == Wait(10.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0)
    assert promoter.window == Window(("prime",), 10.0, 30.0, "adhesion-promoter")
    assert promoter.parameters == {"coats": 1.0}
    assert prime.from_substrate == {"limit_c": "bake_limit_c"}
    assert prime.wait == Wait(0.0)
    assert prime.check is not None
    assert prime.place == Place("stages.yaml", 27, 5, "small")


def test_substrates_materials_and_cautions(pack):
    assert pack.substrates["PP"].properties == {"surface_energy": "low", "bake_limit_c": 80.0}
    assert pack.substrates["ABS"].figures["density_g_per_cm3"].high == 1.07
    assert (pack.materials["primer"].film_um, pack.materials["primer"].use_ml_per_m2) == (40.0, None)
    assert pack.materials["promoter"].voc_g_per_l is None
    assert pack.cautions["solvent-vapour"].ghs == ("H336",)


def test_rules(pack):
    promote, replace = pack.rules["promote"], pack.rules["replace-long-cracks"]
    assert promote.settings == {("adhesion-promoter", "coats"): 2.0}
    assert (promote.require, promote.cautions) == (("adhesion-promoter",), ("solvent-vapour",))
    assert pack.rules["low-energy-needs-promoter"].conclude == {"needs_promoter": True}
    assert replace.decide is not None
    assert replace.decide.disposition is Disposition.REPLACE
    assert replace.overrides == ("prepare",)
    assert pack.layers[1] == ("promote",)


def test_a_condition_and_where_it_stands(pack):
    condition = pack.rules["replace-long-cracks"].when
    assert condition == All(
        (
            Within("damage_length_mm", 300.0, None),
            Any((All((OneOf("radar_zone", (False,)),)),)),
        )
    )
    within, either = condition.parts
    assert within.place == Place(RULES, 29, 7, "small")
    assert either.place == Place(RULES, 30, 7, "small")


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("always", All(())),
        ("{damage_type: crack}", All((OneOf("damage_type", ("crack",)),))),
        ("{damage_type: [crack, scratch]}", All((OneOf("damage_type", ("crack", "scratch")),))),
        ("{damage_type: {not: crack}}", All((OneOf("damage_type", ("crack",), negated=True),))),
        ("{damage_type: {not: [crack]}}", All((OneOf("damage_type", ("crack",), negated=True),))),
        ("{bake_limit_c: {below: 60}}", All((Within("bake_limit_c", None, 60.0),))),
        ("{bake_limit_c: {not: {below: 60}}}", All((Within("bake_limit_c", None, 60.0, negated=True),))),
        ("{damage_length_mm: {at_least: 10, below: 300}}", All((Within("damage_length_mm", 10.0, 300.0),))),
    ],
)
def test_conditions(text, condition):
    assert when(text) == condition


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("sometimes", "R103"),
        ("[{radar_zone: true}]", "R103"),
        ("{radar_zone: 'true'}", "R103"),
        ("{radar_zone: 1}", "R103"),
        ("{damage_type: true}", "R103"),
        ("{damage_type: []}", "R108"),
        ("{damage_type: [crack, crack]}", "R109"),
        ("{damage_type: {nott: crack}}", "R114"),
        ("{damage_type: {not: {not: crack}}}", "R114"),
        ("{damage_type: {not: crack, below: 10}}", "R101"),
        ("{damage_length_mm: [10, 300]}", "R112"),
        ("{damage_length_mm: {}}", "R108"),
        ("{damage_length_mm: {at_least: null}}", "R108"),
        ("{damage_length_mm: {at_least: '10'}}", "R103"),
        ("{damage_length_mm: {at_least: 10, below: 10}}", "R113"),
        ("{damage_length_mm: {at_least: 0}}", "R111"),
        ("{any: []}", "R108"),
        ("{any: [{}]}", "R108"),
        ("{any: {radar_zone: true}}", "R103"),
        ("{all: [{radar_zone: true}]}", "R012"),
    ],
)
def test_conditions_that_are_refused(text: str, code: str):
    assert codes(changed(RULES, "when: {surface_energy: low}", f"when: {text}")) == [code]


@pytest.mark.parametrize(
    ("setting", "code"),
    [
        ("adhesion-promoter.coats: 2.5", "R106"),
        ("adhesion-promoter.coats: 0", "R106"),
        ("prime.abrasive: 320", "R103"),
        ("adhesion-promoter.wait_min: -1", "R106"),
        ("prime.wait_min: 5", "R117"),
        ("adhesion-promoter: 2", "R117"),
        ("prime.coats.more: 2", "R117"),
    ],
)
def test_settings_that_are_refused(setting: str, code: str):
    assert codes(changed(RULES, "set: {adhesion-promoter.coats: 2}", f"set: {{{setting}}}")) == [code]


def test_the_times_of_a_stage_with_a_wait_or_window_can_be_set_without_being_listed():
    times = "{adhesion-promoter.wait_min: 5, adhesion-promoter.not_after_min: 20}"
    pack = load_files([changed(RULES, "set: {adhesion-promoter.coats: 2}", f"set: {times}")])
    assert pack.rules["promote"].settings == {
        ("adhesion-promoter", "wait_min"): 5.0,
        ("adhesion-promoter", "not_after_min"): 20.0,
    }


def test_every_fault_of_a_pack_is_told_in_one_go():
    text = SMALL[RULES].replace("surface_energy: low", "surfaceenergy: low").replace("[prepare]", "[prepar]")
    faulty = {**changed("stages.yaml", "phase: clean", "phase: cleen"), RULES: text}
    assert codes(faulty) == ["R012", "R121", "R120"]


def test_a_file_that_cannot_be_read_hides_no_fault_of_another_file_and_makes_none_up():
    faulty = {**changed("stages.yaml", "title: Prime", "title: no"), RULES: "rules: ["}
    assert codes(faulty) == ["R005", "R011"]


def test_the_order_of_files_means_nothing():
    first, second = SMALL[RULES].split("  - id: prepare\n")
    moved = {"rules/a.yaml": "rules:\n  - id: prepare\n" + second, "rules/b.yaml": first}
    pack = load_files([{**{path: text for path, text in SMALL.items() if path != RULES}, **moved}])
    below = load_files([SMALL])
    assert dict(pack.rules) == dict(below.rules)
    assert pack.layers == below.layers


def test_the_digest_covers_every_byte_and_every_name(pack):
    assert load_files([dict(reversed(SMALL.items()))]).digest == pack.digest
    others = [
        changed(RULES, "why: It would not hold.", "why: It would not hold!"),
        {**SMALL, RULES: SMALL[RULES] + "\n"},
        {**{path: text for path, text in SMALL.items() if path != RULES}, "rules/again.yaml": SMALL[RULES]},
        changed("pack.yaml", "name: small", "name: little"),
    ]
    digests = {pack.digest, *(load_files([files]).digest for files in others)}
    assert len(digests) == 5


def test_a_loaded_pack_can_be_loaded_again_from_its_own_texts(pack):
    assert load_files(list(pack.files.values())) == pack


def test_the_grades_are_those_that_planning_reckons_with():
    assert grades() == P_GRADES


def test_without_the_parser_in_c_everything_is_read_the_same(pack, monkeypatch):
    monkeypatch.setattr("rules.loading.composing._PARSER", yaml.SafeLoader)
    assert load_files([SMALL]) == pack
    for planted in OF_FILES:
        (found,) = check_files(planted.stack).findings
        assert (found.code, found.place.file, found.place.line) == (planted.code, *planted.position[:2])
