"""The distribution of a procedure's elapsed time: the critical path of every sampled job.

The model in time is that of `planning.timing.timeline`. A job in which some work overruns a window is
counted as if the window had no latest moment: the stage that must then be repeated is named by the
window and not added.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from planning.timing.temporal import TOLERANCE_MIN
from planning.timing.windows import Lag

Samples = NDArray[np.float64]


def elapsed_samples(
    order: Sequence[str], work_min: Samples, wait_min: Mapping[str, float], lags: Sequence[Lag]
) -> Samples:
    """Minutes from start to finish of every sampled job, shape (samples,); `order` is not empty.

    `work_min` has one row for each stage of `order`. Longest paths with greatest lags as arcs that
    lead back: a simple path takes each of them once at most, so as many rounds settle every job whose
    windows can be kept.
    """
    row = {stage: number for number, stage in enumerate(order)}
    closing = [lag for lag in lags if lag.at_most_min is not None]
    free = _pushed(np.zeros_like(work_min), work_min, lags, row)
    starts = free
    for _ in closing:
        held = _pushed(_pulled(starts, work_min, closing, row), work_min, lags, row)
        if np.array_equal(held, starts):
            break
        starts = held
    overdue = _pulled(starts, work_min, closing, row) > starts + TOLERANCE_MIN
    starts = np.where(overdue.any(axis=0), free, starts)
    waits = np.array([wait_min[stage] for stage in order])[:, None]
    finishes: Samples = (starts + work_min + waits).max(axis=0)
    return finishes


def _pushed(starts: Samples, work_min: Samples, lags: Sequence[Lag], row: Mapping[str, int]) -> Samples:
    """Starts put off until the stage before is done and every least lag is over."""
    starts = starts.copy()
    for stage, at in row.items():
        if at:
            np.maximum(starts[at], starts[at - 1] + work_min[at - 1], out=starts[at])
        for lag in lags:
            if lag.later == stage:
                before = row[lag.earlier]
                np.maximum(starts[at], starts[before] + work_min[before] + lag.at_least_min, out=starts[at])
    return starts


def _pulled(starts: Samples, work_min: Samples, lags: Sequence[Lag], row: Mapping[str, int]) -> Samples:
    """Starts put off so that no greatest lag is exceeded by the starts as they are."""
    starts = starts.copy()
    for lag in lags:
        if lag.at_most_min is not None:
            before = row[lag.earlier]
            opened = starts[row[lag.later]] - lag.at_most_min - work_min[before]
            np.maximum(starts[before], opened, out=starts[before])
    return starts
