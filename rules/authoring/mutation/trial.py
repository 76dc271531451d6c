"""Holds mutants against the cases, the assertions and the proof of their pack."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from rules.assertions.model import Assertion
from rules.authoring.answers import answers_of, unlike
from rules.authoring.exercised import Exercised
from rules.authoring.mutation.mutants import Mutant
from rules.cases.model import Case
from rules.cases.running import Order, run_cases
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.pack import Pack, Rule, Substrate
from rules.predicates import holds
from rules.proof.domain import domain_of
from rules.proof.outcomes import outcomes_of
from rules.proof.proving import prove
from rules.proof.windows import Settings, Span, Unkept, WhyNotKept

ASSERTION_FAILS = ("R609", "R611")


class Verdict(Enum):
    """What became of a mutant.

    An equivalent one gives every cell the same disposition, stages, parameters and cautions; who asked
    for them, and in which words, is nothing that a case can see.
    """

    BY_CASES = "killed by a case"
    BY_ASSERTIONS = "killed by an assertion"
    BY_PROOF = "killed by the proof"
    EQUIVALENT = "equivalent"
    SURVIVED = "survived"


class Trial:
    """One sound pack, ready to judge its mutants: it passes its cases and is proven."""

    def __init__(
        self,
        pack: Pack,
        exercised: Sequence[Exercised],
        assertions: Sequence[Assertion],
        order: Order,
        why_not_kept: WhyNotKept,
    ) -> None:
        self._pack = pack
        self._exercised = exercised
        self._substrates = {each.case.material: each.substrate for each in exercised}
        self._assertions = assertions
        self._order = order
        self._why_not_kept = _remembering(why_not_kept)
        self._domain = domain_of(pack)
        self._answers = answers_of(outcomes_of(pack, self._domain), self._domain)

    def verdict(self, mutant: Mutant) -> Verdict:
        """What notices the mutant first: cases, then the comparison of all answers, then the proof."""
        changed = mutant.of(self._pack)
        if self._some_case_fails(changed, self._touched(mutant.rule)):
            return Verdict.BY_CASES
        if self._answers_alike(changed):
            return Verdict.EQUIVALENT
        proof = prove(changed, self._assertions, self._why_not_kept)
        if not proof.faults:
            return Verdict.SURVIVED
        asserted = any(fault.code in ASSERTION_FAILS for fault in proof.faults)
        return Verdict.BY_ASSERTIONS if asserted else Verdict.BY_PROOF

    def _touched(self, changed: Rule) -> list[Case]:
        """The cases whose answer the change can alter at all."""
        rule = self._pack.rules[changed.id]
        return [
            each.case
            for each in self._exercised
            if holds(changed.when, each.facts) != holds(rule.when, each.facts)
            or (holds(rule.when, each.facts) and rule.when == changed.when)
        ]

    def _some_case_fails(self, changed: Pack, cases: Iterable[Case]) -> bool:
        decider = Decider(changed, ReferenceEngine(changed))
        return any(
            result.findings
            for case in cases
            for result in run_cases(changed, [case], decider, self._order, self._resolved)
        )

    def _resolved(self, _pack: Pack, material: str) -> Substrate:
        return self._substrates[material]

    def _answers_alike(self, changed: Pack) -> bool:
        outcomes = outcomes_of(changed, self._domain)
        return not any(unlike(self._answers, answers_of(outcomes, self._domain), self._domain.empty))


def _remembering(why_not_kept: WhyNotKept) -> WhyNotKept:
    """The same arithmetic, done once for each situation: mutants leave the stage catalogue as it is."""
    known: dict[object, Unkept | None] = {}

    def remembered(span: Span, settings: Settings) -> Unkept | None:
        situation = (span, frozenset(settings.items()))
        if situation not in known:
            known[situation] = why_not_kept(span, settings)
        return known[situation]

    return remembered
