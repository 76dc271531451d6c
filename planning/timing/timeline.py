"""The earliest schedule of a procedure at median durations.

The model: one technician does the works one after another in the given order, so work never
overlaps work. A wait holds back only the stages that come after its stage; other work may be done
meanwhile, and a wait runs on overnight. A window adds a least and a greatest lag from the end of one work to
the start of another. Works are done while the door is open. The procedure is finished when every wait is
over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from planning.rounding import tenth
from planning.timing.course import Course, course_of
from planning.timing.doors import Doors
from planning.timing.earliest import earliest, latest
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
    finish = max([0.0, *(end + wait for end, wait in zip(ends, course.wait_min, strict=True))])
    last_starts = latest(course, finish, doors)
    elapsed_min = tenth(finish)
    return Timeline(
        start_at=start.at,
        finish_at=moment_at(start.at, start.zone, elapsed_min),
        elapsed_min=elapsed_min,
        stages=tuple(
            _timed(course, position, starts[position], last_starts[position], ends[position])
            for position in range(len(course.order))
        ),
        zone=start.zone,
        closed=_closed(doors, finish) if doors else (),
        put_off=tuple(put_off(Earliest(course, starts, ends, start, titles or named))),
    )


def _timed(
    course: Course, position: int, earliest_min: float, latest_min: float, end_min: float
) -> TimedStage:
    start, last_start, work_end = tenth(earliest_min), tenth(latest_min), tenth(end_min)
    return TimedStage(
        position=position + 1,
        stage=course.order[position],
        earliest_start_min=start,
        latest_start_min=last_start,
        slack_min=tenth(last_start - start),
        work_end_min=work_end,
        ready_min=tenth(end_min + course.wait_min[position]),
        critical=last_start == start,
    )


def _closed(doors: Doors, finish_min: float) -> tuple[tuple[float, float], ...]:
    """The closed times between the start and the finish of a job, in tenths of a minute."""
    closes = (0.0, *doors.closes_min)
    return tuple(
        (tenth(closed), tenth(opens))
        for closed, opens in zip(closes, doors.opens_min, strict=False)
        if opens > closed and closed < finish_min
    )
