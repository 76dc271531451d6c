"""The cases of the base pack: all pass, and no rule could be taken out without one of them failing."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import pytest
from base_pack_line_items import base_pack, checked_base_pack

from planning.order import ordered
from rules.cases import Case, CaseResult, failures, run_cases, unexercised
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.layers import layered
from rules.pack import Pack

WITHOUT_A_TRACE = {
    # No row of the base is such a plastic and yet repairable; a row of an overlay may be.
    "replace-poorly-bonding-break",
    # Tells people a further reason for what other rules decide.
    "unknown-plastic-is-treated-with-care",
}


def order(pack: Pack, stages: Iterable[str]) -> Sequence[str]:
    return ordered(pack.stages, stages, pack.phases)


def results(pack: Pack, cases: Iterable[Case]) -> tuple[CaseResult, ...]:
    return run_cases(pack, cases, Decider(pack, ReferenceEngine(pack)), order)


@pytest.fixture(scope="module")
def base_results() -> tuple[CaseResult, ...]:
    return results(base_pack(), checked_base_pack().cases)


def test_all_cases_pass(base_results: tuple[CaseResult, ...]) -> None:
    assert failures(base_pack(), base_results) == ()


def test_every_rule_fires_in_a_case(base_results: tuple[CaseResult, ...]) -> None:
    assert unexercised(base_pack(), base_results) == ()


def test_every_rule_that_is_taken_out_fails_a_case(base_results: tuple[CaseResult, ...]) -> None:
    missed = {
        rule
        for rule in base_pack().rules
        if not _fails_without(rule, [each.case for each in base_results if rule in each.fired])
    }
    assert missed == WITHOUT_A_TRACE


def test_many_cases_expect_an_order() -> None:
    assert sum(len(case.expected.order) > 2 for case in checked_base_pack().cases) >= 40


def _fails_without(rule: str, cases: Sequence[Case]) -> bool:
    """Only a case in which the rule fires can tell."""
    rules = {name: each for name, each in base_pack().rules.items() if name != rule}
    pack = replace(base_pack(), rules=rules, layers=layered(rules))
    return any(failures(pack, results(pack, [case])) for case in cases)
