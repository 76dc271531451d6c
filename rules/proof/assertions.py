"""Assertions of a pack, held against every admissible cell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from rules.assertions.model import Assertion, Bounds, NothingBetween, Pattern, agrees
from rules.conditions import Value
from rules.proof.domain import Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import DISPOSITION, Outcomes
from rules.proof.sequence import earlier_stages, may_lie_between
from rules.proof.space import CellSet, union, where_holds


def broken_assertions(outcomes: Outcomes, domain: Domain, assertions: Iterable[Assertion]) -> Iterator[Fault]:
    """Assertions that some cell breaks, and those that speak of no cell at all."""
    patterns = _Patterns(outcomes, domain)
    for each in assertions:
        spoken_of = where_holds(domain, each.when, outcomes.holds) & patterns.match(each.where)
        if not domain.count(spoken_of):
            told = f"the assertion '{each.id}' speaks of no case at all; mend its 'when' or 'where'"
            yield Fault("R611", told, (each.place,))
            continue
        broken = domain.empty
        if each.always is not None:
            broken |= spoken_of & ~patterns.match(each.always)
        if each.never is not None:
            broken |= spoken_of & patterns.match(each.never)
        if domain.count(broken):
            yield fault_in(domain, broken, "R609", f"the assertion '{each.id}' fails: {each.why}", each.place)


class _Patterns:
    """The cells whose answers look like a pattern."""

    def __init__(self, outcomes: Outcomes, domain: Domain) -> None:
        self._outcomes = outcomes
        self._domain = domain
        self._earlier = earlier_stages(outcomes.pack.stages)
        self._present = {stage: outcomes.present(stage) for stage in outcomes.pack.stages}

    def match(self, pattern: Pattern) -> CellSet:
        where = self._domain.admissible
        for part in self._parts(pattern):
            where = where & part
        return where

    def _parts(self, pattern: Pattern) -> Iterator[CellSet]:
        if pattern.dispositions:
            yield union(
                self._domain, (self._outcomes.claimed(DISPOSITION, each) for each in pattern.dispositions)
            )
        yield from (self._present[stage] for stage in pattern.present)
        if pattern.any_of:
            yield self._any(pattern.any_of)
        yield ~self._any(self._present if pattern.no_stages else pattern.absent)
        yield from (self._outcomes.warned(caution) for caution in pattern.cautions)
        yield from (self._agreeing(*key, wanted) for key, wanted in pattern.parameters.items())
        yield from (~self._out_of_order(*pair) for pair in pairwise(pattern.order))
        if pattern.nothing_between is not None:
            yield ~self._something_between(pattern.nothing_between)

    def _any(self, stages: Iterable[str]) -> CellSet:
        return union(self._domain, (self._present[stage] for stage in stages))

    def _agreeing(self, stage: str, parameter: str, wanted: Value | Bounds) -> CellSet:
        """Where the stage is present and its parameter is as wanted."""
        subject = ("parameter", stage, parameter)
        values = (value for value in self._outcomes.values_of(subject) if agrees(value, wanted))
        where = union(self._domain, (self._outcomes.claimed(subject, value) for value in values))
        catalogue: Mapping[str, Value] = self._outcomes.pack.stages[stage].parameters
        if parameter in catalogue and agrees(catalogue[parameter], wanted):
            where = where | self._outcomes.unclaimed(subject)
        return where & self._present[stage]

    def _out_of_order(self, first: str, last: str) -> CellSet:
        """Where both are present and nothing puts `first` before `last`."""
        if first in self._earlier[last]:
            return self._domain.empty
        return self._present[first] & self._present[last]

    def _something_between(self, rule: NothingBetween) -> CellSet:
        return union(
            self._domain,
            (
                self._present[first] & self._present[stage] & self._present[last]
                for first in rule.after
                for last in rule.before
                if first in self._earlier[last]
                for stage in rule.stages
                if may_lie_between(self._earlier, first, stage, last)
            ),
        )
