"""Every window can be kept, whatever stages and settings fall between its two ends.

The pack tells which situations can arise; whether one can be kept in time is arithmetic, which the
caller brings along (`planning.keeping.why_not_kept`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from rules.pack import ParameterValue
from rules.proof.domain import Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import Outcomes
from rules.proof.sequence import earlier_stages, may_lie_between
from rules.proof.space import CellSet

Settings = Mapping[tuple[str, str], ParameterValue]
WhyNotKept = Callable[[frozenset[str], Settings], str | None]
"""(stages that are present, settings of rules) -> why their windows can't all be kept, or None."""

TIMING = ("wait_min", "not_before_min", "not_after_min", "temperature_c", "coats", "passes")


def unkept_windows(outcomes: Outcomes, domain: Domain, why_not_kept: WhyNotKept) -> Iterator[Fault]:
    """One fault for each window that can't be kept in some cell, at the first such situation."""
    stages = outcomes.pack.stages
    earlier = earlier_stages(stages)
    for stage in stages.values():
        window = stage.window
        for target in window.to if window else ():
            ends = outcomes.present(stage.id) & outcomes.present(target)
            between = [name for name in stages if may_lie_between(earlier, stage.id, name, target)]
            for present, settings, where in _situations(outcomes, domain, [stage.id, target], between, ends):
                told = why_not_kept(present, settings)
                if told:
                    yield fault_in(domain, where, "R608", told, stage.place, stages[target].place)
                    break


def _situations(
    outcomes: Outcomes, domain: Domain, ends: list[str], between: list[str], where: CellSet
) -> Iterator[tuple[frozenset[str], dict[tuple[str, str], ParameterValue], CellSet]]:
    """Every set of stages and timing settings that can arise in `where`, with its cells."""
    regions = [(frozenset(ends), where)]
    for name in between:
        here = outcomes.present(name)
        regions = [
            (stages | {name} if kept else stages, part)
            for stages, region in regions
            for kept, part in ((True, region & here), (False, region & ~here))
            if domain.count(part)
        ]
    for stages, region in regions:
        if domain.count(region):
            yield from (
                (stages, settings, part)
                for settings, part in _settings(outcomes, domain, sorted(stages), region)
            )


def _settings(
    outcomes: Outcomes, domain: Domain, stages: list[str], where: CellSet
) -> list[tuple[dict[tuple[str, str], ParameterValue], CellSet]]:
    found: list[tuple[dict[tuple[str, str], ParameterValue], CellSet]] = [({}, where)]
    for stage in stages:
        for parameter in TIMING:
            subject = ("parameter", stage, parameter)
            choices = [(value, outcomes.claimed(subject, value)) for value in outcomes.values_of(subject)]
            if not choices:
                continue
            unset = outcomes.unclaimed(subject)
            found = [
                (settings if value is None else {**settings, (stage, parameter): value}, region & cells)
                for settings, region in found
                for value, cells in [*choices, (None, unset)]
                if domain.count(region & cells)
            ]
    return found
