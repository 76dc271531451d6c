"""Sums over a procedure: labour by category, and the distributions of work and elapsed time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from planning.rounding import tenth, tenth_up
from planning.timing.elapsed import SampledJobs
from planning.timing.model import FinishBy, Quantiles, Timeline, Totals
from planning.timing.sampling import quantiles


class Laboured(Protocol):
    """What sums read of a stage."""

    @property
    def labour(self) -> str: ...
    @property
    def work_min(self) -> Quantiles: ...


def totals(
    stages: Sequence[Laboured], timeline: Timeline, jobs: SampledJobs | None, labour: Sequence[str]
) -> Totals:
    """Totals of the stages; `labour` is the order in which categories are listed; `jobs` None: no stages."""
    hours = labour_hours(stages, labour)
    median_min = tenth(sum(stage.work_min.p50 for stage in stages))
    if jobs is None:
        nothing = Quantiles(0.0, 0.0, 0.0)
        return Totals(hours, median_min, nothing, nothing, _finish_by(timeline, nothing))
    elapsed = quantiles(jobs.elapsed_min)
    return Totals(
        labour_hours=hours,
        work_at_median_min=median_min,
        work_min=quantiles(jobs.work_min),
        elapsed_min=elapsed,
        finish_at=_finish_by(timeline, elapsed),
        all_windows_kept_probability=jobs.all_kept_probability(),
    )


def labour_hours(stages: Sequence[Laboured], labour: Sequence[str]) -> dict[str, float]:
    """Hours at median work by category, each sum rounded up to a tenth; absent categories left out."""
    minutes: dict[str, float] = {}
    for stage in stages:
        minutes[stage.labour] = minutes.get(stage.labour, 0.0) + stage.work_min.p50
    return {category: tenth_up(minutes[category] / 60) for category in labour if category in minutes}


def _finish_by(timeline: Timeline, elapsed: Quantiles) -> FinishBy | None:
    moments: list[datetime] = [
        moment
        for minutes in (elapsed.p50, elapsed.p80, elapsed.p95)
        if (moment := timeline.moment(minutes)) is not None
    ]
    return FinishBy(*moments) if moments else None
