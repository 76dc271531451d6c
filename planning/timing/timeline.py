"""The earliest schedule of a procedure at median durations.

The model: one technician does the works one after another in the given order, so work never
overlaps work. A wait holds back only the stages that come after its stage; other work may be done
meanwhile. A window adds a least and a greatest lag from the end of one work to the start of
another. The procedure is finished when every wait is over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from planning.rounding import tenth
from planning.timing.model import TimedStage, Timeline
from planning.timing.temporal import Constraint, minimal_network
from planning.timing.windows import Lag

ORIGIN = "start of the job"
FINISH = "finish of the job"


def timeline(
    order: Sequence[str],
    work_min: Mapping[str, float],
    wait_min: Mapping[str, float],
    lags: Sequence[Lag],
    start_at: datetime | None,
) -> Timeline:
    """Earliest and latest starts, in tenths of a minute. Raises InconsistentWindows."""
    moments = (ORIGIN, *(moment for stage in order for moment in (_start(stage), _end(stage))), FINISH)
    network = minimal_network(moments, _constraints(order, work_min, wait_min, lags))
    earliest, latest = network.earliest(), network.latest(FINISH)
    timed = tuple(
        _timed(position, stage, earliest[_start(stage)], latest[_start(stage)], work_min, wait_min)
        for position, stage in enumerate(order, start=1)
    )
    elapsed_min = tenth(earliest[FINISH])
    finish_at = start_at and start_at + timedelta(minutes=elapsed_min)
    return Timeline(start_at, finish_at, elapsed_min, timed)


def _constraints(
    order: Sequence[str],
    work_min: Mapping[str, float],
    wait_min: Mapping[str, float],
    lags: Sequence[Lag],
) -> list[Constraint]:
    firsts = [Constraint(ORIGIN, _start(stage), 0.0) for stage in order[:1]]
    works = [Constraint(_start(stage), _end(stage), work_min[stage], work_min[stage]) for stage in order]
    turns = [Constraint(_end(stage), _start(following), 0.0) for stage, following in pairwise(order)]
    between = [
        Constraint(_end(lag.earlier), _start(lag.later), lag.at_least_min, lag.at_most_min) for lag in lags
    ]
    lasts = [Constraint(_end(stage), FINISH, wait_min[stage]) for stage in order]
    return [*firsts, *works, *turns, *between, *lasts, Constraint(ORIGIN, FINISH, 0.0)]


def _timed(
    position: int,
    stage: str,
    earliest: float,
    latest: float,
    work_min: Mapping[str, float],
    wait_min: Mapping[str, float],
) -> TimedStage:
    start, last_start = tenth(earliest), tenth(latest)
    work_end = tenth(start + work_min[stage])
    return TimedStage(
        position=position,
        stage=stage,
        earliest_start_min=start,
        latest_start_min=last_start,
        slack_min=tenth(last_start - start),
        work_end_min=work_end,
        ready_min=tenth(work_end + wait_min[stage]),
        critical=last_start == start,
    )


def _start(stage: str) -> str:
    return f"start of {stage}"


def _end(stage: str) -> str:
    return f"end of {stage}"
