"""What the proof sees of small packs and overlays: facts, materials, orders and windows in particular."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

import pytest
from tiny_pack import FACTS, RULES, SMALL, STAGES, changed, overlay

from planning.timing.keeping import why_not_kept
from rules.loading import check_files, load_files
from rules.proof.fault import Fault
from rules.proof.proving import prove
from rules.proof.witness import line_item_of

Files = Mapping[str, str]

CLEAN_TO_PRIME = "{after: [solvent-clean], before: [prime]"


def faults_of(*stack: Files) -> list[Fault]:
    checked = check_files(stack)
    assert checked.pack is not None
    assert checked.findings == ()
    return list(prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack)).faults)


def codes(*stack: Files) -> list[str]:
    return [fault.code for fault in faults_of(*stack)]


def claiming(claim: str, pack: Files = SMALL) -> dict[str, str]:
    """The pack with one assertion."""
    text = f"assertions:\n  - id: claimed\n    why: A test.\n    source: invented\n    {claim}\n"
    return {**pack, "assertions.yaml": text}


@pytest.mark.parametrize(
    ("claim", "found"),
    [
        ("always: {order: [solvent-clean, adhesion-promoter, prime]}", []),
        ("always: {order: [prime, solvent-clean]}", ["R609"]),
        ("always: {order: [prime, adhesion-promoter, solvent-clean]}", ["R609"]),
        ("always: {nothing_between: {after: [adhesion-promoter], before: [prime], stages: [prime]}}", []),
        (f"always: {{nothing_between: {CLEAN_TO_PRIME}, stages: [solvent-clean, prime]}}}}", []),
        (f"always: {{nothing_between: {CLEAN_TO_PRIME}, stages: [adhesion-promoter]}}}}", ["R609"]),
        ("always: {parameters: {prime.limit_c: {at_least: 70}}}", []),
        ("always: {parameters: {prime.limit_c: {at_most: 70}}}", ["R609"]),
        ("always: {parameters: {prime.coats: 2}}", []),
        ("always: {parameters: {adhesion-promoter.not_after_min: {at_most: 30}}}", []),
        ("always: {parameters: {adhesion-promoter.not_after_min: {at_most: 29}}}", ["R609"]),
        ("always: {parameters: {adhesion-promoter.wait_min: {at_most: 1000}}}", ["R609"]),
        ("always: {carry: {users_of: [solvent-cleaner], cautions: [solvent-vapour]}}", []),
        ("always: {carry: {users_of: [primer], cautions: [solvent-vapour]}}", ["R609"]),
        ("always: {carry: {stages: [solvent-clean, prime], cautions: [solvent-vapour]}}", ["R609"]),
        ("when: {radar_zone: true}\n    always: {disposition: refer, no_stages: true}", []),
        ("always: {disposition: [repair, replace]}", ["R609"]),
        (
            "when: {damage_type: scratch}\n    where: {disposition: replace}\n    never: {no_stages: true}",
            ["R611"],
        ),
    ],
)
def test_assertions_on_the_small_pack(claim: str, found: list[str]) -> None:
    assert codes(claiming(claim)) == found


def test_a_broken_assertion_says_which_part_of_it_is_broken_and_where() -> None:
    claim = "where: {present: [prime]}\n    always: {present: [solvent-clean, adhesion-promoter]}"
    (fault,) = faults_of(claiming(claim))
    assert "'adhesion-promoter' is missing" in fault.message
    assert fault.witness is not None
    assert fault.witness.in_words() == "material = ABS"


def test_what_is_in_order_only_by_phase_or_name_is_not_surely_in_order() -> None:
    loose = changed("stages.yaml", "after: [adhesion-promoter, solvent-clean]", "after: [adhesion-promoter]")
    loose["stages.yaml"] = loose["stages.yaml"].replace("    after: [solvent-clean]\n", "")
    (fault,) = faults_of(claiming("always: {order: [solvent-clean, prime]}", loose))
    assert "nothing puts 'solvent-clean' before 'prime'" in fault.message


def test_stages_are_in_order_where_the_one_between_them_is_absent() -> None:
    loose = changed("stages.yaml", "after: [adhesion-promoter, solvent-clean]", "after: [adhesion-promoter]")
    loose["stages.yaml"] = loose["stages.yaml"].replace("    after: [solvent-clean]\n", "")
    never_promoted = "when: {surface_energy: high, needs_promoter: true"
    loose["rules/refinish.yaml"] = RULES.replace("when: {needs_promoter: true", never_promoted)
    found = faults_of(claiming("always: {order: [solvent-clean, adhesion-promoter, prime]}", loose))
    assert [fault.code for fault in found] == ["R604", "R606", "R609"]
    assert "nothing puts 'solvent-clean' before 'prime'" in found[-1].message


def test_what_may_come_between_two_stages_that_are_in_no_order_is_found() -> None:
    loose = changed("stages.yaml", "after: [adhesion-promoter, solvent-clean]", "after: []")
    claim = f"always: {{nothing_between: {CLEAN_TO_PRIME}, stages: [adhesion-promoter]}}}}"
    (fault,) = faults_of(claiming(claim, loose))
    assert "'adhesion-promoter' may come between 'solvent-clean' and 'prime'" in fault.message


def test_materials_that_are_one_to_the_rules_are_told_apart_by_what_they_fix() -> None:
    twin = SMALL["substrates.yaml"] + (
        "  - symbol: PS\n    name: Polystyrene\n    source: invented\n"
        "    properties: {surface_energy: high, bake_limit_c: 90}\n"
    )
    pack = {**SMALL, "substrates.yaml": twin}
    assert codes(claiming("always: {parameters: {prime.limit_c: {at_most: 90}}}", pack)) == []
    (fault,) = faults_of(claiming("always: {parameters: {prime.limit_c: {at_most: 80}}}", pack))
    assert fault.witness is not None
    assert fault.witness.material == "PS"


def test_an_assertion_may_speak_of_a_fact_that_no_rule_reads() -> None:
    unread = changed("rules/refinish.yaml", "damage_length_mm: {at_least: 300}\n      any:", "any:")
    claim = "when: {damage_length_mm: {at_least: 300}}\n    never: {disposition: repair}"
    assert codes(unread) == []
    assert codes(claiming(claim, unread)) == []
    (fault,) = faults_of(claiming(claim.replace("never", "always"), unread))
    assert fault.code == "R609"
    assert fault.witness is not None
    assert fault.witness.facts["damage_length_mm"] == 300


def test_a_witness_states_every_fact_that_must_be_given() -> None:
    assert "damage_type" not in RULES
    gap = changed(
        "rules/refinish.yaml",
        "{radar_zone: false}\n    require: [s",
        "{surface_energy: low}\n    require: [s",
    )
    witness = next(fault.witness for fault in faults_of(gap) if fault.code == "R601")
    assert witness is not None
    checked = check_files([gap])
    assert checked.pack is not None
    assert line_item_of(witness, checked.pack.vocabulary.facts) == {
        "line_item": {"reference": "witness"},
        "part": {"name": "part", "material": "ABS", "features": []},
        "damage": {"type": "scratch"},
    }


def test_a_number_is_concluded_wherever_in_its_cell_it_lies() -> None:
    amount = """\
  shift_h:
    about: A derived number.
    kind: number
    minimum: 0
    maximum: 100
    cut_points: [10, 50]
    origin: rules
    default: 0
"""
    rules = """\
  - {id: concludes, when: {surface_energy: low}, conclude: {shift_h: 33}, why: A test., source: invented}
  - id: reads
    when: {shift_h: {at_least: 10, below: 50}}
    caution: [radar-limits]
    why: A test.
    source: invented
"""
    pack = {**SMALL, "facts.yaml": FACTS + amount, "rules/refinish.yaml": RULES + rules}
    assert codes(pack) == []
    assert codes(claiming("when: {surface_energy: low}\n    always: {cautions: [radar-limits]}", pack)) == []


def test_a_caution_that_only_bench_tests_carry_is_not_idle() -> None:
    pack = load_files([SMALL])
    noise = replace(pack.cautions["radar-limits"], id="noise")
    pack = replace(pack, cautions={**pack.cautions, "noise": noise})
    assert prove(pack, (), partial(why_not_kept, pack)).faults == ()


def test_what_an_overlay_leaves_idle_of_the_pack_below_is_nobody_s_fault() -> None:
    withdrawn = "withdraw:\n  - {rule: promote, why: Nobody promotes here.}\n"
    claimed = claiming("where: {present: [adhesion-promoter]}\n    always: {cautions: [solvent-vapour]}")
    assert faults_of(claimed) == []
    assert faults_of(claimed, *overlay(more=withdrawn)[1:]) == []


def test_an_assertion_of_the_pack_below_holds_under_an_overlay() -> None:
    claimed = claiming("when: {damage_length_mm: {at_least: 300}}\n    never: {disposition: repair}")
    rule = (
        "rules:\n  - id: repair-anyway\n    when: {radar_zone: false}\n    overrides: [replace-long-cracks]\n"
        "    decide: {disposition: repair, reason: Anyway.}\n    why: A test.\n    source: invented\n"
    )
    assert faults_of(claimed) == []
    found = faults_of(claimed, *overlay(more=rule)[1:])
    assert ("R609", "small") in [(fault.code, fault.places[0].pack) for fault in found]


def test_an_assertion_of_the_pack_below_may_be_of_that_pack_alone() -> None:
    claim = "always: {parameters: {prime.coats: 2}}\n    overlays_may_differ: true"
    thicker = "amend:\n  stages:\n    prime: {parameters: {coats: 3}}\n"
    assert faults_of(claiming(claim)) == []
    assert faults_of(claiming(claim), *overlay(more=thicker)[1:]) == []
    (fault,) = faults_of(claiming(claim.partition("\n")[0]), *overlay(more=thicker)[1:])
    assert fault.code == "R609"


def test_the_window_of_a_stage_is_judged_with_what_its_material_fixes() -> None:
    fixing = STAGES.replace("{coats: 1}", "{coats: 1}\n    from_substrate: {wait_min: bake_limit_c}")
    pack = {**SMALL, "stages.yaml": fixing}
    (fault,) = faults_of(pack)
    assert fault.code == "R608"
    assert "may take 80 min, but the window closes after 30 min" in fault.message
