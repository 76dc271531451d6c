"""Sums over a procedure: labour by category, and the distributions of work and elapsed time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planning.model import PlannedStage
from planning.rounding import tenth_up
from planning.timing.durations import quantiles, work_samples
from planning.timing.elapsed import elapsed_samples
from planning.timing.model import Quantiles, Totals
from planning.timing.windows import Lag
from rules.pack import Stage


def totals(
    stages: Sequence[PlannedStage],
    catalogue: Mapping[str, Stage],
    lags: Sequence[Lag],
    labour: Sequence[str],
) -> Totals:
    """Totals of the stages; `labour` is the order in which categories are listed."""
    hours = labour_hours(stages, labour)
    if not stages:
        return Totals(hours, Quantiles(0.0, 0.0, 0.0), Quantiles(0.0, 0.0, 0.0))
    order = [stage.stage for stage in stages]
    work = work_samples(
        [stage.work_min.p50 for stage in stages], [catalogue[stage].work.spread for stage in order]
    )
    wait_min = {stage.stage: stage.wait_min for stage in stages}
    elapsed = elapsed_samples(order, work, wait_min, lags)
    return Totals(hours, quantiles(work.sum(axis=0)), quantiles(elapsed))


def labour_hours(stages: Sequence[PlannedStage], labour: Sequence[str]) -> dict[str, float]:
    """Hours at median work by category, each sum rounded up to a tenth; absent categories left out."""
    return {
        category: tenth_up(sum(stage.work_min.p50 for stage in stages if stage.labour == category) / 60)
        for category in labour
        if any(stage.labour == category for stage in stages)
    }
