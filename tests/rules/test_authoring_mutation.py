"""Mutants: one change each, judged as the whole cases and the whole proof would judge them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from furnished_packs import answer, every_cell, furnished
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import packs
from tiny_pack import SMALL

from planning.order import ordered
from planning.timing.keeping import why_not_kept
from rules.authoring.exercised import exercised
from rules.authoring.mutation.kinds import Kind
from rules.authoring.mutation.mutants import Mutant, mutants_of
from rules.authoring.mutation.scoring import Score, by_kind, score_of, survivors
from rules.authoring.mutation.trial import Trial, Verdict
from rules.cases import failures, run_cases
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import Checked, check_files
from rules.proof.proving import prove

ASSERTIONS = """\
assertions:
  - id: what-is-referred-is-not-primed
    when: {radar_zone: true, damage_type: scratch}
    always: {no_stages: true}
    why: It is not begun.
    source: invented
"""


def in_order(pack, stages):
    return ordered(pack.stages, stages, pack.phases)


def checked_small() -> Checked:
    return check_files([{**SMALL, "assertions.yaml": ASSERTIONS}])


def trial_of(checked: Checked) -> Trial:
    pack = checked.pack
    cases = exercised(pack, checked.cases, Decider(pack, ReferenceEngine(pack)))
    return Trial(pack, cases, checked.assertions, in_order, partial(why_not_kept, pack))


def told_of(rule_id: str) -> list[str]:
    return [mutant.told for mutant in mutants_of(checked_small().pack) if mutant.rule.id == rule_id]


def test_every_change_of_a_rule() -> None:
    assert told_of("promote") == [
        "without 'needs_promoter is true'",
        "'needs_promoter is not true' for 'needs_promoter is true'",
        "without 'radar_zone is false'",
        "'radar_zone is not false' for 'radar_zone is false'",
        "does not require adhesion-promoter",
        "does not set adhesion-promoter.coats",
        "does not carry the caution solvent-vapour",
        "sets adhesion-promoter.coats 1 for 2",
    ]
    assert told_of("replace-long-cracks") == [
        "without 'damage_length_mm is at least 300'",
        "'damage_length_mm is not at least 300' for 'damage_length_mm is at least 300'",
        "'damage_length_mm is at least 10' for 'damage_length_mm is at least 300'",
        "without 'radar_zone is false'",
        "'radar_zone is not false' for 'radar_zone is false'",
        "does not decide replace",
        "does not override prepare",
        "decides repair for replace",
        "decides refer for replace",
    ]
    assert "concludes needs_promoter false for true" in told_of("low-energy-needs-promoter")


def test_every_mutant_differs_from_the_pack_in_one_rule_and_says_where() -> None:
    pack = checked_small().pack
    for mutant in mutants_of(pack):
        changed = mutant.of(pack)
        differing = {name for name in pack.rules if pack.rules[name] != changed.rules[name]}
        assert differing == {mutant.rule.id}
        assert mutant.place.file == "rules/refinish.yaml"
        assert mutant.place.line > 0


def test_only_rules_of_the_uppermost_pack_are_changed() -> None:
    pack = checked_small().pack
    assert mutants_of(replace(pack, name="another")) == ()


def whole_verdict(checked: Checked, mutant: Mutant) -> Verdict:
    """The verdict by every case, every cell and the whole proof, without any short cut."""
    pack = checked.pack
    changed = mutant.of(pack)
    decider = Decider(changed, ReferenceEngine(changed))
    if failures(changed, run_cases(changed, checked.cases, decider, in_order)):
        return Verdict.BY_CASES
    faults = prove(changed, checked.assertions, partial(why_not_kept, changed)).faults
    if faults:
        asserted = any(fault.code in ("R609", "R611") for fault in faults)
        return Verdict.BY_ASSERTIONS if asserted else Verdict.BY_PROOF
    return Verdict.SURVIVED


def test_short_cuts_come_to_the_verdict_of_the_whole_way() -> None:
    checked = checked_small()
    trial = trial_of(checked)
    verdicts = {
        mutant.told + mutant.rule.id: (trial.verdict(mutant), whole_verdict(checked, mutant))
        for mutant in mutants_of(checked.pack)
    }
    assert len(verdicts) > 30
    for told, (short, whole) in verdicts.items():
        assert short is whole or (short is Verdict.EQUIVALENT and whole is not Verdict.BY_CASES), told
    assert {short for short, _ in verdicts.values()} >= {
        Verdict.BY_CASES,
        Verdict.BY_PROOF,
        Verdict.SURVIVED,
        Verdict.EQUIVALENT,
    }


@pytest.mark.parametrize(
    ("rule", "told", "verdict"),
    [
        ("promote", "does not require adhesion-promoter", Verdict.BY_CASES),
        ("promote", "without 'radar_zone is false'", Verdict.BY_PROOF),
        ("promote", "does not carry the caution solvent-vapour", Verdict.EQUIVALENT),
        (
            "replace-long-cracks",
            "'damage_length_mm is at least 10' for 'damage_length_mm is at least 300'",
            Verdict.SURVIVED,
        ),
        ("refer-radar", "does not carry the caution radar-limits", Verdict.SURVIVED),
    ],
)
def test_what_becomes_of_a_mutant(rule: str, told: str, verdict: Verdict) -> None:
    checked = checked_small()
    (mutant,) = (each for each in mutants_of(checked.pack) if (each.rule.id, each.told) == (rule, told))
    assert trial_of(checked).verdict(mutant) is verdict


def test_an_assertion_kills_what_it_forbids() -> None:
    checked = checked_small()
    (mutant,) = (
        each
        for each in mutants_of(checked.pack)
        if each.rule.id == "refer-radar" and each.told == "decides repair for refer"
    )
    allowed = replace(checked, assertions=())
    assert trial_of(allowed).verdict(mutant) is not Verdict.BY_ASSERTIONS
    primed = ASSERTIONS.replace("always: {no_stages: true}", "always: {disposition: refer}")
    asserting = check_files([{**SMALL, "assertions.yaml": primed}])
    assert trial_of(asserting).verdict(mutant) is Verdict.BY_ASSERTIONS


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_equivalent_is_what_answers_every_cell_alike(data: st.DataObject) -> None:
    pack = furnished(data.draw(packs(max_rules=4)))
    mutants = mutants_of(pack)
    if not mutants or any(answer(pack, facts) is None for facts in every_cell(pack)):
        return  # A pack that gives some cell no answer is not proven, and not put to trial.
    mutant = data.draw(st.sampled_from(mutants))
    verdict = Trial(pack, (), (), in_order, lambda *situation: None).verdict(mutant)
    alike = all(
        _without_reasons(answer(pack, facts)) == _without_reasons(answer(mutant.of(pack), facts))
        for facts in every_cell(pack)
    )
    assert (verdict is Verdict.EQUIVALENT) == alike


def _without_reasons(seen: object) -> object:
    return seen and (seen[0], *seen[2:])  # type: ignore[index]


def test_the_score_leaves_equivalent_mutants_out() -> None:
    verdicts = [Verdict.BY_CASES, Verdict.BY_ASSERTIONS, Verdict.BY_PROOF, Verdict.SURVIVED]
    score = score_of([*verdicts, Verdict.EQUIVALENT, Verdict.EQUIVALENT])
    assert score == Score(1, 1, 1, 1, 2)
    assert (score.killed, score.counted, score.percentage) == (3, 4, 75)
    assert score_of([]).percentage == 100


def test_survivors_stand_in_the_order_of_their_places() -> None:
    mutants = mutants_of(checked_small().pack)
    judged = [(mutant, Verdict.SURVIVED) for mutant in reversed(mutants)]
    assert [mutant.place for mutant in survivors(judged)] == sorted(mutant.place for mutant in mutants)
    assert set(by_kind(judged)) == {mutant.kind for mutant in mutants} <= set(Kind)
