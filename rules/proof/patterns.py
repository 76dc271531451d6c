"""The cells whose answers look like a pattern of `rules.assertions`.

What comes before what is judged by `after` alone: an order that follows only from phases and names
holds by chance, and an overlay may undo it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from rules.assertions.model import Assertion, Bounds, Carry, NothingBetween, Pattern, agrees
from rules.conditions import OneOf, Value, tests_in
from rules.proof.domain import Domain
from rules.proof.outcomes import DISPOSITION, Outcomes
from rules.proof.parameters import catalogue_value, values_of
from rules.proof.sequence import earlier_stages, may_lie_between
from rules.proof.space import CellSet, union
from rules.wording import value_in_words


class Patterns:
    """Patterns over the outcomes of one pack, part by part, each with its denial in words."""

    def __init__(self, outcomes: Outcomes, domain: Domain) -> None:
        self._outcomes = outcomes
        self._domain = domain
        self._earlier = earlier_stages(outcomes.pack.stages)
        self._present = {stage: outcomes.present(stage) for stage in outcomes.pack.stages}

    def match(self, pattern: Pattern) -> CellSet:
        """The admissible cells whose answers look like it."""
        where = self._domain.admissible
        for part, _ in self._parts(pattern):
            where = where & part
        return where

    def speaking_of_nothing(self, assertion: Assertion, spoken_of: CellSet) -> Iterator[str]:
        """What `when` and `where` list and no case has, in words."""
        if not self._domain.any(spoken_of):
            yield "at all"
        for test in tests_in(assertion.when):
            if isinstance(test, OneOf) and not test.negated:
                for value in test.values:
                    of_value = self._outcomes.holds(OneOf(test.fact, (value,)))
                    if not self._domain.any(spoken_of & of_value):
                        yield f"in which {test.fact} is {value_in_words(value)}"
        for stage in assertion.where.any_of:
            if not self._domain.any(spoken_of & self._present[stage]):
                yield f"that has '{stage}'"

    def broken(self, assertion: Assertion) -> Iterator[tuple[CellSet, str]]:
        """Cells in which `always` does not hold, part by part, and in which `never` does; with how."""
        if assertion.always is not None:
            yield from ((~part, denial) for part, denial in self._parts(assertion.always))
        if assertion.never is not None:
            yield from self._as_it_never_should(assertion.never)

    def _as_it_never_should(self, pattern: Pattern) -> Iterator[tuple[CellSet, str]]:
        matched = self.match(pattern)
        named = [f"the disposition is {_either(pattern)}"] if pattern.dispositions else []
        named += [f"the reason of '{rule}' is told" for rule in pattern.reasons]
        named += [f"'{stage}' is there" for stage in pattern.present]
        named += [f"the caution '{caution}' is there" for caution in pattern.cautions]
        if not pattern.any_of:
            yield matched, " and ".join(named) or "the answer is as it never should be"
        for stage in pattern.any_of:
            yield matched & self._present[stage], " and ".join([*named, f"'{stage}' is there"])

    def _parts(self, pattern: Pattern) -> Iterator[tuple[CellSet, str]]:
        if pattern.dispositions:
            decided = (self._outcomes.claimed(DISPOSITION, each) for each in pattern.dispositions)
            yield union(self._domain, decided), f"the disposition is not {_either(pattern)}"
        for rule in pattern.reasons:
            yield self._outcomes.reasoned(rule), f"the reason of '{rule}' is not told"
        yield from ((self._present[stage], f"'{stage}' is missing") for stage in pattern.present)
        if pattern.any_of:
            yield self._any(pattern.any_of), f"none of {', '.join(pattern.any_of)} is there"
        yield from ((~self._present[stage], f"'{stage}' is there") for stage in pattern.absent)
        if pattern.no_stages:
            yield ~self._any(self._present), "there are stages"
        for caution in pattern.cautions:
            yield self._outcomes.warned(caution), f"the caution '{caution}' is missing"
        for (stage, parameter), wanted in pattern.parameters.items():
            denial = f"'{stage}.{parameter}' is not {_in_words(wanted)}"
            yield ~self._present[stage] | self._agreeing(stage, parameter, wanted), denial
        for first, last in combinations(pattern.order, 2):
            yield ~self._out_of_order(first, last), f"nothing puts '{first}' before '{last}'"
        if pattern.nothing_between is not None:
            yield from self._nothing_between(pattern.nothing_between)
        if pattern.carry is not None:
            yield from self._carrying(pattern.carry)

    def _any(self, stages: Iterable[str]) -> CellSet:
        return union(self._domain, (self._present[stage] for stage in stages))

    def _agreeing(self, stage_id: str, parameter: str, wanted: Value | Bounds | None) -> CellSet:
        """Where the parameter of a stage is as wanted, whether the stage is present or not."""
        stage = self._outcomes.pack.stages[stage_id]
        where = self._domain.empty
        for value, cells in values_of(self._outcomes, self._domain, stage, parameter):
            said = catalogue_value(stage, parameter) if value is None else value
            if value is None if wanted is None else said is not None and agrees(said, wanted):
                where = where | cells
        return where

    def _out_of_order(self, first: str, last: str) -> CellSet:
        """Where both are present and nothing puts `first` before `last`."""
        if first in self._earlier[last]:
            return self._domain.empty
        return self._present[first] & self._present[last]

    def _nothing_between(self, rule: NothingBetween) -> Iterator[tuple[CellSet, str]]:
        for first in rule.after:
            for last in rule.before:
                if last in self._earlier[first]:
                    continue
                for stage in rule.stages:
                    if may_lie_between(self._earlier, first, stage, last):
                        all_three = self._present[first] & self._present[stage] & self._present[last]
                        yield ~all_three, f"'{stage}' may come between '{first}' and '{last}'"

    def _carrying(self, rule: Carry) -> Iterator[tuple[CellSet, str]]:
        for stage in self._outcomes.pack.stages.values():
            if stage.id in rule.stages or not set(rule.users_of).isdisjoint(stage.materials):
                for caution in rule.cautions:
                    if caution not in stage.cautions:
                        denial = f"'{stage.id}' does not carry the caution '{caution}'"
                        yield ~self._present[stage.id], denial


def _either(pattern: Pattern) -> str:
    return " or ".join(each.value for each in pattern.dispositions)


def _in_words(wanted: Value | Bounds | None) -> str:
    if wanted is None:
        return "left as it is"
    if not isinstance(wanted, Bounds):
        return value_in_words(wanted)
    bounds = (("at least", wanted.at_least), ("at most", wanted.at_most))
    return " and ".join(f"{word} {bound:g}" for word, bound in bounds if bound is not None)
