"""What the labour of two jobs costs, at the minutes that they take.

The same sample of works as for durations (`planning.timing.sampling`), in one go for both jobs, so that
their works are independent of each other. A job costs minutes x rate; nothing is rounded up to tenths of
an hour here, for the question is which of the two costs the shop less, not what is written on the invoice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from planning.learning.model import Learned
from planning.model import PlannedStage
from planning.timing.durations import WorkTime
from planning.timing.sampling import Samples, work_samples
from rules.pack import Work


@dataclass(frozen=True)
class PaidWork:
    """Work and what an hour of it costs."""

    work: WorkTime
    per_hour: Decimal


def stages_paid(
    stages: Sequence[PlannedStage],
    per_hour: Mapping[str, Decimal],
    learned: Mapping[str, Learned],
) -> list[PaidWork]:
    """The work of every stage. Raises KeyError for a category without a rate."""
    return [PaidWork(_work_time(stage, learned.get(stage.stage)), per_hour[stage.labour]) for stage in stages]


def fitting_paid(hours: Mapping[str, float] | None, per_hour: Mapping[str, Decimal]) -> list[PaidWork]:
    """Fitting takes the given hours at the median, and spreads like a stage that does not say how much."""
    return [
        PaidWork(WorkTime(60 * hours_of, Work.spread), per_hour[category])
        for category, hours_of in (hours or {}).items()
        if hours_of
    ]


def labour_samples(first: Sequence[PaidWork], second: Sequence[PaidWork]) -> tuple[Samples, Samples]:
    """Money for the labour of each of two jobs, job by sampled job."""
    both = [*first, *second]
    minutes = work_samples([paid.work for paid in both])
    per_min = np.array([float(paid.per_hour) / 60 for paid in both])
    return per_min[: len(first)] @ minutes[: len(first)], per_min[len(first) :] @ minutes[len(first) :]


def _work_time(stage: PlannedStage, learned: Learned | None) -> WorkTime:
    if learned is None:
        return stage.catalogue
    return WorkTime(stage.work_min.p50, learned.spread, learned.degrees, learned.jobs)
