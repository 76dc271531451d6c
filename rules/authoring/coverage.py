"""Coverage by condition: which tests of which rules the cases show to matter, both ways.

A test is seen true by a case in which it is true and the rule fires because of it: with the test false
and all else as it is, the rule would not fire. It is seen false by a case in which it is false and, were
it true, the rule would fire. This is masking modified condition/decision coverage (J. J. Chilenski,
An investigation of three forms of the modified condition decision coverage criterion, report
DOT/FAA/AR-01/18, 2001), each rule being one decision. What no admissible facts can show is not counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from rules.authoring.exercised import Exercised
from rules.conditions import All, Any, Condition, Test
from rules.pack import Pack, Rule
from rules.places import Place
from rules.predicates import holds
from rules.proof.domain import Domain, domain_of
from rules.proof.outcomes import Outcomes, outcomes_of
from rules.proof.space import where_holds

_TRUE, _FALSE = All(()), Any(())


@dataclass(frozen=True)
class Point:
    """One thing for the cases to show: a test of a rule being true, or false, while it decides.

    `test` is None for a rule without conditions, of which only its firing can be seen.
    """

    rule: str
    test: Test | None
    truth: bool
    place: Place


@dataclass(frozen=True)
class Coverage:
    """What cases show and what they leave out; together all that can be shown, in the order of the rules."""

    seen: tuple[Point, ...]
    unseen: tuple[Point, ...]

    @property
    def percentage(self) -> float:
        """Per cent of the points that are seen; 100 where there is nothing to see."""
        total = len(self.seen) + len(self.unseen)
        return 100 * len(self.seen) / total if total else 100.0


def coverage_of(pack: Pack, exercised: Sequence[Exercised]) -> Coverage:
    """What cases show of the rules of the uppermost pack."""
    domain = domain_of(pack)
    outcomes = outcomes_of(pack, domain)
    seen: list[Point] = []
    unseen: list[Point] = []
    for rule in pack.rules.values():
        if rule.place.pack == pack.name:
            for point, shown in _points(rule, outcomes, domain, exercised):
                (seen if shown else unseen).append(point)
    return Coverage(tuple(seen), tuple(unseen))


def _points(
    rule: Rule, outcomes: Outcomes, domain: Domain, exercised: Sequence[Exercised]
) -> Iterator[tuple[Point, bool]]:
    """Everything that some admissible facts show of a rule, and whether a case shows it."""
    forced = tuple(_forced(rule.when))
    if not forced:
        yield Point(rule.id, None, True, rule.place), bool(exercised)
    for test, if_true, if_false in forced:
        decisive = where_holds(domain, if_true, outcomes.holds) & ~where_holds(
            domain, if_false, outcomes.holds
        )
        true = outcomes.holds(test)
        shown = set(_shown(test, if_true, if_false, exercised))
        for truth, where in ((True, decisive & true), (False, decisive & ~true)):
            if domain.count(where):
                place = test.place if test.place.line else rule.place
                yield Point(rule.id, test, truth, place), truth in shown


def _shown(
    test: Test, if_true: Condition, if_false: Condition, exercised: Iterable[Exercised]
) -> Iterator[bool]:
    """The truth of the test in each case in which it decides."""
    for each in exercised:
        if holds(if_true, each.facts) and not holds(if_false, each.facts):
            yield holds(test, each.facts)


def _forced(condition: Condition) -> Iterator[tuple[Test, Condition, Condition]]:
    """Every test, with the whole condition as it would be were the test always true, and never."""
    if not isinstance(condition, (All, Any)):
        yield condition, _TRUE, _FALSE
        return
    parts = condition.parts
    for number, part in enumerate(parts):
        before, after = parts[:number], parts[number + 1 :]
        for test, if_true, if_false in _forced(part):
            yield (
                test,
                replace(condition, parts=(*before, if_true, *after)),
                replace(condition, parts=(*before, if_false, *after)),
            )
