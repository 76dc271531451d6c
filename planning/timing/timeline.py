"""The earliest schedule of a procedure at median durations.

The model: one technician does the works one after another in the given order, so work never
overlaps work. A wait holds back only the stages that come after its stage; other work may be done
meanwhile, and a wait runs on overnight. A window adds a least and a greatest lag from the end of one work to
the start of another. Works are done while the door is open. The procedure is finished when every wait is
over.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from planning.rounding import tenth
from planning.timing.course import Course, course_of
from planning.timing.doors import Doors
from planning.timing.earliest import Ends, Starts, earliest, latest
from planning.timing.model import TimedStage, Timeline, moment_at
from planning.timing.putting_off import Earliest, put_off
from planning.timing.start import Start, start_of
from planning.timing.windows import Lag


def timeline(
    order: Sequence[str],
    work_min: Mapping[str, float],
    wait_min: Mapping[str, float],
    lags: Sequence[Lag],
    start_at: datetime | None,
) -> Timeline:
    """The schedule of a job without opening hours. Raises InconsistentWindows."""
    return scheduled(course_of(order, work_min, wait_min, lags), start_of(start_at))


def scheduled(course: Course, start: Start, titles: Mapping[str, str] | None = None) -> Timeline:
    """Earliest and latest starts, in tenths of a minute; `titles` are what people call the stages.

    Raises InconsistentWindows and CalendarTooNarrow.
    """
    doors = start.doors
    named = {stage: stage for stage in course.order}
    starts, ends = earliest(course, doors)
    finish = max([0.0, *[ends[position] + wait for position, wait in course.last_waits]])
    last_starts = latest(course, finish, doors)
    elapsed_min = tenth(finish)
    return Timeline(
        start_at=start.at,
        finish_at=moment_at(start.at, start.zone, elapsed_min),
        elapsed_min=elapsed_min,
        stages=tuple(_timed(course, starts, last_starts, ends)),
        zone=start.zone,
        closed=_closed(doors, finish) if doors else (),
        put_off=tuple(put_off(Earliest(course, starts, ends, start, titles or named))),
    )


def _timed(course: Course, starts: Starts, last_starts: Starts, ends: Ends) -> Iterator[TimedStage]:
    figures = zip(course.order, starts, last_starts, ends, course.wait_min, strict=True)
    for position, (stage, earliest_min, latest_min, end_min, wait_min) in enumerate(figures, start=1):
        start, last_start, work_end = tenth(earliest_min), tenth(latest_min), tenth(end_min)
        critical = last_start == start
        slack = 0.0 if critical else tenth(last_start - start)
        ready = tenth(end_min + wait_min) if wait_min else work_end
        yield TimedStage(position, stage, start, last_start, slack, work_end, ready, critical)


def _closed(doors: Doors, finish_min: float) -> tuple[tuple[float, float], ...]:
    """The closed times between the start and the finish of a job, in tenths of a minute."""
    closes = (0.0, *doors.closes_min)[: bisect_left(doors.closes_min, finish_min) + 1]
    return tuple(
        (tenth(closed), tenth(opens))
        for closed, opens in zip(closes, doors.opens_min, strict=False)
        if opens > closed and closed < finish_min
    )
