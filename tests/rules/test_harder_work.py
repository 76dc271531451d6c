"""What makes work harder, and the place that materials ask for: read from files, and out of the proof."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

import pytest
from tiny_pack import SMALL, changed

from planning.timing.keeping import why_not_kept
from rules.bearing import facts_of_work_alone
from rules.cache import DecisionCache
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, check_files, load_files, load_folder
from rules.pack import Application, Climate
from rules.proof.domain import domain_of
from rules.proof.proving import Proof, prove
from rules.proof.windows import Span

Files = Mapping[str, str]

CONTOUR = """\
facts:
  contour:
    about: How curved it is.
    kind: enumeration
    values: {flat: Not at all., curved: Gently., tight: Much.}
    given_as: /damage/contour
    default: curved
  at_edge: {about: It reaches an edge., kind: boolean, given_as: /damage/at_edge, default: false}
"""
WORK = "work: {fixed_min: 10, per_m2_min: 8}"
HARDER = "harder: {contour: {curved: 1.15, tight: 1.35}, at_edge: 1.2}"
FIT = (
    "{air_c: [15, 35], surface_c: [10, 40], humidity_pct: [0, 85], dew_margin_k: 3, source: common practice}"
)
PRIMER = "title: Two-pack primer"


def harder(words: str = HARDER) -> dict[str, str]:
    return {**changed("stages.yaml", WORK, WORK.replace("}", f", {words}}}")), "contour.yaml": CONTOUR}


def codes(files: Files) -> list[str]:
    return [found.code for found in check_files([files]).findings]


def test_factors_are_read_by_fact_and_value():
    work = load_files([harder()]).stages["prime"].work
    assert work.harder == {"contour": {"curved": 1.15, "tight": 1.35}, "at_edge": {"true": 1.2}}
    assert load_files([SMALL]).stages["prime"].work.harder == {}


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        ("harder: {contuor: {tight: 1.35}}", "R012", "did you mean 'contour'?"),
        ("harder: {contour: {tigth: 1.35}}", "R110", "did you mean 'tight'?"),
        ("harder: {contour: 1.35}", "R103", "'contour'"),
        ("harder: {at_edge: {true: 1.2}}", "R016", "before a colon"),
        ('harder: {at_edge: {"true": 1.2}}', "R103", "the factor of 'at_edge'"),
        ("harder: {at_edge: 0.9}", "R106", "from 1 to 5"),
        ("harder: {contour: {tight: 12}}", "R106", "from 1 to 5"),
        ("harder: {needs_promoter: 1.2}", "R115", "concluded by rules"),
        ("harder: {damage_length_mm: 1.2}", "R103", "use 'per_m2_min' or 'per_dm_min'"),
        ("harder: [contour]", "R103", "'harder'"),
    ],
)
def test_what_cannot_make_work_harder_is_told(words: str, code: str, told: str):
    found = check_files([harder(words)]).findings
    assert code in [finding.code for finding in found]
    assert any(told in finding.message for finding in found)


def test_a_property_of_the_material_may_make_work_harder():
    assert codes(harder("harder: {surface_energy: {low: 1.1}}")) == []


def proof_of(files: Files) -> Proof:
    checked = check_files([files])
    assert checked.pack is not None
    return prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack))


def test_facts_of_the_work_alone_are_no_part_of_the_proof():
    assert facts_of_work_alone(load_files([harder()])) == {"contour", "at_edge"}
    assert proof_of(harder()).cells == proof_of(SMALL).cells
    assert {"contour", "at_edge"}.isdisjoint(domain_of(load_folder(BASE_PACK)).facts)


def test_a_fact_that_a_rule_reads_too_is_part_of_it():
    rule = (
        "rules:\n  - {id: mind, when: {contour: tight}, caution: [radar-limits], why: A., source: invented}\n"
    )
    files = {**harder(), "rules/more.yaml": rule}
    assert facts_of_work_alone(load_files([files])) == {"at_edge"}
    assert proof_of(files).cells == 3 * proof_of(SMALL).cells


def test_a_fact_that_another_hangs_on_is_part_of_it():
    hangs = (
        "facts:\n  radius: {about: R., kind: boolean, given_as: /damage/radius, default: false,"
        " otherwise: false, applies_when: {contour: tight}}\n"
    )
    assert facts_of_work_alone(load_files([{**harder(), "more.yaml": hangs}])) == {"at_edge"}


def test_an_assertion_may_speak_of_a_fact_of_the_work_alone():
    claim = (
        "assertions:\n  - id: claimed\n    when: {contour: tight}\n    never: {disposition: repair}\n"
        "    why: A test.\n    source: invented\n"
    )
    (fault,) = proof_of({**harder(), "assertions.yaml": claim}).faults
    assert fault.code == "R609"
    assert fault.witness is not None
    assert fault.witness.facts["contour"] == "tight"


def test_a_remembered_decision_serves_every_difficulty():
    pack, cache = load_files([harder()]), DecisionCache()
    decider = Decider(pack, ReferenceEngine(pack), cache)
    facts = {"damage_type": "scratch", "damage_length_mm": 0.0, "radar_zone": False, "at_edge": False}
    facts |= pack.substrates["PP"].properties
    decided = [decider.decide({**facts, "contour": contour}) for contour in ("flat", "curved", "tight")]
    assert decided[0] is decided[1] is decided[2]
    assert (cache.hits, cache.misses) == (2, 1)


def test_a_window_is_kept_by_the_hardest_work():
    pack = load_files([harder()])
    prime, promoter = pack.stages["prime"], pack.stages["adhesion-promoter"]
    work = replace(prime.work, fixed_min=3)
    between = replace(prime, id="between", after=("adhesion-promoter",), work=work)
    last = replace(prime, id="last", after=("between",))
    window = replace(promoter.window, to=("last",), not_after_min=26.0)
    stages = {
        **pack.stages,
        "adhesion-promoter": replace(promoter, window=window),
        "between": between,
        "last": last,
    }
    span = Span("adhesion-promoter", "last", frozenset({"between"}), (("area_m2", 0.5, 0.5),))
    # Two coats of 3 + 4 min after a wait of 10 min: 24 min. On the worst spot 3 + 1.62 x 4: 29 min.
    hard = replace(pack, stages=stages)
    easy = replace(hard, stages={**stages, "between": replace(between, work=replace(work, harder={}))})
    assert why_not_kept(easy, span, {}) is None
    assert why_not_kept(hard, span, {}) is not None


def applying(words: str) -> dict[str, str]:
    return changed("materials.yaml", "    film_um: 40\n", f"    film_um: 40\n    application: {words}\n")


def test_the_place_that_a_material_asks_for_is_read():
    materials = load_files([applying(FIT)]).materials
    assert materials["primer"].application == Application(
        (15.0, 35.0), (10.0, 40.0), (0.0, 85.0), 3.0, "common practice"
    )
    assert materials["solvent-cleaner"].application is None


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("air_c: [15, 35], ", "", "R102"),
        (", source: common practice", "", "R102"),
        ("[15, 35]", "[35, 15]", "R127"),
        ("[15, 35]", "[15]", "R103"),
        ("[0, 85]", "[0, 185]", "R106"),
        ("dew_margin_k: 3", "dew_margin_k: -3", "R106"),
        ("air_c", "air_f", "R101"),
    ],
)
def test_a_place_that_cannot_be_is_told(old: str, new: str, code: str):
    assert codes(applying(FIT.replace(old, new))) == [code]


def bringing(words: str) -> dict[str, str]:
    return changed(
        "stages.yaml",
        "    work: {fixed_min: 5, per_m2_min: 4}\n",
        f"    work: {{fixed_min: 5}}\n    {words}\n",
    )


def test_the_place_that_a_stage_makes_is_read():
    stages = load_files([bringing("brings: {air_c: 20, humidity_pct: 80}")]).stages
    assert stages["solvent-clean"].brings == Climate(air_c=20.0, humidity_pct=80.0)
    assert stages["prime"].brings is None


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("brings: {}", "R108"),
        ("brings: {humidity_pct: 120}", "R106"),
        ("brings: {warmth: 20}", "R101"),
        ("brings: null", None),
    ],
)
def test_a_stage_brings_something_that_can_be(words: str, code: str | None):
    assert (codes(bringing(words)) or [None])[0] == code
