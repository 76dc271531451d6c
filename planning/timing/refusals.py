"""Why there is no schedule: windows that contradict each other, opening hours that leave no room."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf

from planning.timing.calendar import HORIZON_DAYS
from planning.timing.course import Bound, Course
from planning.timing.doors import Doors
from planning.timing.temporal import TOLERANCE_MIN, Constraint, MinimalNetwork, minimal_network

ORIGIN = "start of the job"
FINISH = "finish of the job"


class CalendarTooNarrow(ValueError):
    """The opening hours leave no room; `stages` are those concerned, where any are."""

    def __init__(self, told: str, stages: tuple[str, ...] = ()) -> None:
        super().__init__(told)
        self.stages = stages


def network_of(course: Course) -> MinimalNetwork:
    """The simple temporal network of a job without opening hours. Raises InconsistentWindows."""
    moments = (
        ORIGIN,
        *(moment for stage in course.order for moment in (start_of(stage), end_of(stage))),
        FINISH,
    )
    return minimal_network(moments, _constraints(course))


def refuse_inconsistent(course: Course) -> None:
    """Raises InconsistentWindows where no opening hours at all could keep the windows."""
    network_of(course)


def no_room(course: Course, doors: Doors) -> None:
    """Raises CalendarTooNarrow where a work is longer than any time in which it could be done."""
    longest = {pauses: doors.longest_min(pauses) for pauses in (False, True)}
    for stage, work, pauses in zip(course.order, course.work_min, course.pauses, strict=True):
        if work > longest[pauses] + TOLERANCE_MIN:
            where = "no day has so much open time" if pauses else "the door is never open for so long at once"
            raise CalendarTooNarrow(
                f"'{stage}' takes {work:g} min of work, but in the next {HORIZON_DAYS} days {where}: at most "
                f"{longest[pauses]:g} min; lengthen the opening hours or shorten the breaks",
                (stage,),
            )


def not_in_time(course: Course, ends: Sequence[float], pulled: Sequence[Bound]) -> CalendarTooNarrow:
    """The refusal of works that find no place before the horizon; `pulled` are the windows not kept last."""
    if not pulled:
        stage = course.order[ends.index(inf)]
        told = f"'{stage}' finds no time within {HORIZON_DAYS} days of opening hours; lengthen them"
        return CalendarTooNarrow(told, (stage,))
    windows = [
        f"'{course.order[after]}' at most {most:g} min after '{course.order[before]}'"
        for before, after, most in pulled
    ]
    told = (
        f"no opening within {HORIZON_DAYS} days is long enough to keep {', and '.join(windows)}; lengthen one"
    )
    return CalendarTooNarrow(told, tuple(course.order[before] for before, _, _ in pulled))


def start_of(stage: str) -> str:
    return f"start of {stage}"


def end_of(stage: str) -> str:
    return f"end of {stage}"


def _constraints(course: Course) -> list[Constraint]:
    order, work_min, wait_min = course.order, course.work_min, course.wait_min
    firsts = [Constraint(ORIGIN, start_of(stage), 0.0) for stage in order[:1]]
    works = [
        Constraint(start_of(stage), end_of(stage), work, work)
        for stage, work in zip(order, work_min, strict=True)
    ]
    turns = [Constraint(end_of(stage), start_of(following), 0.0) for stage, following in pairwise(order)]
    between = [
        Constraint(end_of(lag.earlier), start_of(lag.later), lag.at_least_min, lag.at_most_min)
        for lag in course.lags
    ]
    lasts = [Constraint(end_of(stage), FINISH, wait) for stage, wait in zip(order, wait_min, strict=True)]
    return [*firsts, *works, *turns, *between, *lasts, Constraint(ORIGIN, FINISH, 0.0)]
