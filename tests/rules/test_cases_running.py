"""Cases are run on any engine; each failure says what was expected and what came."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, changed, overlay

from planning.order import ordered
from rules.cases import failures, run_cases, unexercised
from rules.cases.model import Case, Expected
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import check_files
from rules.places import Place

CASES = "cases/small.yaml"


def in_order(pack, stages):
    return ordered(pack.stages, stages, pack.phases)


def run(stack, **more):
    checked = check_files(stack)
    assert checked.findings == ()
    decider = Decider(checked.pack, ReferenceEngine(checked.pack))
    return checked.pack, run_cases(checked.pack, checked.cases, decider, in_order, **more)


def messages(stack) -> list[str]:
    return [finding.message for finding in failures(*run(stack))]


def test_every_case_is_run_in_the_order_written():
    pack, results = run([SMALL])
    assert [result.case.name for result in results] == [
        "a scratched polypropylene part",
        "a scratched ABS part",
        "a part with a long crack",
    ]
    assert failures(pack, results) == ()
    assert "promote" in results[0].fired
    assert "promote" not in results[1].fired


def test_rules_that_no_case_exercises_are_named():
    assert unexercised(*run([SMALL])) == ("refer-radar",)


def test_only_rules_of_the_uppermost_pack_are_to_be_exercised_by_its_cases():
    given = "{material: PP, damage_type: scratch}"
    own = f"cases:\n  - {{name: own, given: {given}, expect: {{disposition: repair}}}}\n"
    rule = "{id: idle, when: {radar_zone: true}, caution: [solvent-vapour], why: None., source: none}"
    idle = f"rules:\n  - {rule}\n"
    assert unexercised(*run(overlay(own=own, idle=idle))) == ("idle",)


def test_a_case_is_read_with_its_facts_typed_and_the_places_of_what_it_expects():
    case = check_files([SMALL]).cases[2]
    assert case.given == {"damage_type": "crack", "damage_length_mm": 400.0}
    assert (case.material, case.place) == ("Polypropylene", Place(CASES, 16, 5, "small"))
    assert case.place_of("disposition") == Place(CASES, 18, 14, "small")
    assert case.place_of("present") == case.place


@pytest.mark.parametrize(
    ("expected", "code"),
    [
        ("{present: [prim]}", "R116"),
        ("{order: [prime, prime]}", "R109"),
        ("{cautions: [noise]}", "R118"),
        ("{parameters: {prime.coat: 2}}", "R117"),
        ("{parameters: {prime.coats: two}}", "R103"),
        ("{disposition: scrap}", "R105"),
        ("{dispositions: repair}", "R101"),
        ("{present: [], parameters: {}}", "R131"),
        ("{present: [prime], absent: [prime]}", "R131"),
    ],
)
def test_an_expectation_that_cannot_be_read_is_found_when_the_pack_is_loaded(expected: str, code: str):
    planted = changed(CASES, "expect: {disposition: replace}", f"expect: {expected}")
    assert [found.code for found in check_files([planted]).findings] == [code]


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ("{damage_type: crack}", "R102"),
        ("{material: PP, damage_typ: crack}", "R012"),
        ("{material: PP, damage_type: bend}", "R110"),
        ("{material: PP, damage_type: crack, damage_length_mm: '400'}", "R103"),
        ("{material: PP, damage_type: crack, damage_length_mm: 4000}", "R106"),
        ("{material: PP, damage_type: crack, surface_energy: low}", "R115"),
    ],
)
def test_facts_that_cannot_be_read_are_found_when_the_pack_is_loaded(given: str, code: str):
    old = "given: {material: Polypropylene, damage_type: crack, damage_length_mm: 400}"
    assert [found.code for found in check_files([changed(CASES, old, f"given: {given}")]).findings] == [code]


@pytest.mark.parametrize(
    ("expected", "told"),
    [
        ("{disposition: repair}", "expects repair; it came out otherwise: disposition replace"),
        ("{present: [adhesion-promoter], absent: [solvent-clean]}", "required by prepare"),
        ("{order: [prime, adhesion-promoter]}", "came out otherwise: adhesion-promoter, prime"),
        ("{parameters: {prime.limit_c: 60}}", "came out otherwise: 80"),
        ("{parameters: {adhesion-promoter.coats: 1}}", "came out otherwise: 2, set by promote"),
        ("{parameters: {adhesion-promoter.wait_min: 5}}", "came out otherwise: 10, as in the catalogue"),
        ("{cautions: [radar-limits]}", "came out otherwise: cautions solvent-vapour"),
    ],
)
def test_a_failure_says_what_was_expected_and_what_came(expected: str, told: str):
    (message,) = messages([changed(CASES, "expect: {disposition: replace}", f"expect: {expected}")])
    assert message.startswith("case 'a part with a long crack' expects ")
    assert told in message


def test_an_order_of_stages_that_are_not_required_fails():
    planted = changed(CASES, "absent: [adhesion-promoter]", "order: [adhesion-promoter, prime]")
    (message,) = messages([planted])
    assert "expects adhesion-promoter, prime; it came out otherwise: prime;" in message


def test_what_stages_bring_along_counts_as_a_caution():
    planted = changed(CASES, "absent: [adhesion-promoter]", "cautions: [solvent-vapour]")
    assert messages([planted]) == []


def test_materials_are_told_by_the_resolver_that_is_given():
    asked = []

    def always_abs(pack, text):
        asked.append(text)
        return pack.substrates["ABS"]

    pack, results = run([SMALL], resolve_material=always_abs)
    assert asked == ["PP", "abs", "Polypropylene"]
    assert [finding.code for finding in failures(pack, results)] == ["R402", "R405", "R405"]


def test_no_case_at_all_is_a_failure():
    checked = check_files([{**SMALL, CASES: "cases: []\n"}])
    decider = Decider(checked.pack, ReferenceEngine(checked.pack))
    results = run_cases(checked.pack, checked.cases, decider, in_order)
    assert [finding.code for finding in failures(checked.pack, results)] == ["R410"]


def test_a_case_need_not_come_from_a_file():
    pack = check_files([SMALL]).pack
    case = Case("made up", "ABS", {"damage_type": "scratch"}, Expected(present=("adhesion-promoter",)))
    (result,) = run_cases(pack, [case], Decider(pack, ReferenceEngine(pack)), in_order)
    assert [finding.code for finding in result.findings] == ["R402"]
