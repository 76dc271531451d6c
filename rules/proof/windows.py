"""Every window can be kept, whatever falls between its two ends, and in whichever order it is done.

The pack tells which spans can arise; how long what lies in one takes is arithmetic, which the caller
brings along (`planning.timing.keeping.why_not_kept`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, inf

from rules.pack import ParameterValue, Stage
from rules.proof.domain import SUBSTRATE, Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import Outcomes
from rules.proof.parameters import values_of
from rules.proof.sequence import earlier_stages, may_lie_between
from rules.proof.space import CellSet, union
from rules.vocabulary import Fact, Kind, Origin

Settings = Mapping[tuple[str, str], ParameterValue]

TIMING = ("wait_min", "not_before_min", "not_after_min", "temperature_c", "coats", "passes")


@dataclass(frozen=True)
class Span:
    """The window of `stage` to `target`, the stages that may be done in it, and the jobs that have it.

    `limits` are the lowest and highest values of the numbers of line item and substrate, by fact. `bringing`
    are the stages that change the place, wherever they come.
    """

    stage: str
    target: str
    between: frozenset[str]
    limits: tuple[tuple[str, float, float], ...]
    bringing: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Unkept:
    """Why a window may not be kept, in words, and the facts at which it is, those that matter most first."""

    told: str
    facts: Mapping[str, float]


Situation = tuple[Span, Settings, CellSet]
"""A span, the timing that is set in it, and its cells."""

WhyNotKept = Callable[[Span, Settings], Unkept | None]
"""(a span, the timing that rules and substrate set in it) -> why it may not be kept, or None."""


def unkept_windows(outcomes: Outcomes, domain: Domain, why_not_kept: WhyNotKept) -> Iterator[Fault]:
    """One fault for each window that is not surely kept, at the first such situation."""
    spans = _Spans(outcomes, domain)
    for stage in outcomes.pack.stages.values():
        for target in stage.window.to if stage.window else ():
            if not any(why_not_kept(span, settings) for span, settings, _ in spans.fullest(stage, target)):
                continue  # nor is any emptier one: less can only be done in less time
            for span, settings, where in spans.each(stage, target):
                unkept = why_not_kept(span, settings)
                if unkept:
                    places = (stage.place, outcomes.pack.stages[target].place)
                    wanted = {name: spans.reached(name, at, where) for name, at in unkept.facts.items()}
                    hardest = spans.narrowed(where, wanted)
                    fault = fault_in(domain, hardest, "R608", unkept.told, *places, wanted=wanted)
                    yield replace(fault, cells=domain.count(where))
                    break


class _Spans:
    """The spans that can arise, each with the settings in it and its cells."""

    def __init__(self, outcomes: Outcomes, domain: Domain) -> None:
        self._outcomes = outcomes
        self._domain = domain
        self._stages = outcomes.pack.stages
        self._earlier = earlier_stages(self._stages)
        self._present = {name: outcomes.present(name) for name in self._stages}
        self._bringing = [name for name, stage in self._stages.items() if stage.brings]

    def fullest(self, stage: Stage, target: str) -> Iterator[Situation]:
        """One window with everything in it that ever may be, whether all of it meets or not."""
        where, names = self._ends(stage, target)
        if self._domain.any(where):
            yield from self._situations(stage, target, frozenset(names), where)

    def each(self, stage: Stage, target: str) -> Iterator[Situation]:
        """One window with every set of stages that may meet in it, the smallest first."""
        where, names = self._ends(stage, target)
        for between, region in sorted(self._regions(names, where), key=lambda pair: len(pair[0])):
            yield from self._situations(stage, target, between, region)

    def reached(self, name: str, limit: float, where: CellSet) -> float:
        """The limit of a number in `where`, or the whole number below one that is out of reach."""
        fact = self._domain.facts[name]
        cell = fact.cell_of(limit)
        if self._domain.any(where & self._domain.diagrams.cells(name, [cell])):
            return limit
        return max(float(ceil(limit) - 1), float(fact.domain[cell - 1]))

    def narrowed(self, where: CellSet, wanted: Mapping[str, float]) -> CellSet:
        """The cells of `where` in which as many numbers as can be are as wanted, the first above all.

        In other cells of `where` the window may well be kept.
        """
        for name, value in wanted.items():
            here = self._domain.diagrams.cells(name, [self._domain.facts[name].cell_of(value)])
            where = where & here if self._domain.any(where & here) else where
        return where

    def _ends(self, stage: Stage, target: str) -> tuple[CellSet, list[str]]:
        """Where a window has these ends, and the stages that may be done between them.

        It leads to the first of its targets that follows, so none of them lies in it.
        """
        targets = stage.window.to if stage.window else ()
        nearer = [each for each in targets if self._surely_between(stage.id, each, target)]
        ends = self._outcomes.answered & self._present[stage.id] & self._present[target]
        where = ends & ~union(self._domain, (self._present[each] for each in nearer))
        names = [
            name
            for name in self._stages
            if name not in targets
            and may_lie_between(self._earlier, stage.id, name, target)
            and self._domain.any(where & self._present[name])
        ]
        return where, names

    def _situations(
        self, stage: Stage, target: str, between: frozenset[str], where: CellSet
    ) -> Iterator[Situation]:
        for bringing, region in self._regions(self._bringing, where):
            for settings, cells in self._settings([stage.id, *sorted(between)], region):
                yield Span(stage.id, target, between, self._limits(cells), bringing), settings, cells

    def _regions(self, names: list[str], where: CellSet) -> list[tuple[frozenset[str], CellSet]]:
        """`where` cut up by which of the stages are present."""
        regions = [(frozenset[str](), where)]
        for name in names:
            here = self._present[name]
            regions = [
                (present | {name} if kept else present, part)
                for present, region in regions
                for kept, part in ((True, region & here), (False, region & ~here))
                if self._domain.any(part)
            ]
        return regions

    def _surely_between(self, first: str, name: str, last: str) -> bool:
        return first in self._earlier[name] and name in self._earlier[last]

    def _settings(self, stages: list[str], where: CellSet) -> list[tuple[Settings, CellSet]]:
        found: list[tuple[dict[tuple[str, str], ParameterValue], CellSet]] = [({}, where)]
        for stage in stages:
            for parameter in TIMING:
                choices = list(values_of(self._outcomes, self._domain, self._stages[stage], parameter))
                found = [
                    (settings if value is None else {**settings, (stage, parameter): value}, region & cells)
                    for settings, region in found
                    for value, cells in choices
                    if self._domain.any(region & cells)
                ]
        return [*found]

    def _limits(self, where: CellSet) -> tuple[tuple[str, float, float], ...]:
        stated = (fact for fact in self._domain.facts.values() if fact.kind is Kind.NUMBER)
        ranges = [(fact.name, *self._range(fact, where)) for fact in stated]
        symbols = tuple(self._symbols(where))
        known = self._outcomes.pack.vocabulary.from_origin(Origin.SUBSTRATE)
        for fact in (fact for fact in known if fact.kind is Kind.NUMBER):
            values = [
                float(self._outcomes.pack.substrates[symbol].properties[fact.name]) for symbol in symbols
            ]
            if values:
                ranges.append((fact.name, min(values), max(values)))
        return tuple(ranges)

    def _symbols(self, where: CellSet) -> Iterator[str]:
        """The materials that occur in `where`."""
        for cell, row in enumerate(self._domain.rows):
            if self._domain.any(where & self._domain.diagrams.cells(SUBSTRATE, [cell])):
                yield from row.symbols

    def _range(self, fact: Fact, where: CellSet) -> tuple[float, float]:
        """The bounds of the cells of a number that lie in `where`; the upper one may be out of reach."""
        edges = (fact.minimum, *fact.cut_points, fact.maximum)
        lowest, highest = inf, -inf
        for cell in range(len(edges) - 1):
            if self._domain.any(where & self._domain.diagrams.cells(fact.name, [cell])):
                lowest, highest = min(lowest, edges[cell]), max(highest, edges[cell + 1])
        return lowest, highest
