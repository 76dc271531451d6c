"""The earliest and the latest schedule as fixpoints.

Every demand on the earliest schedule (the turn of the works, least lags, opening hours, and greatest lags,
which put the *earlier* of their stages off) only ever makes starts later, and the later the others start
the later it makes them. So by the theorem of Knaster and Tarski there is one least schedule that meets them
all: it is reached from the start of the job upwards, whatever the order in which they are looked at. The
latest schedule that keeps a finish is the greatest one below it, likewise. Without opening hours both are
those of the simple temporal network (`planning.timing.temporal`).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from planning.timing.course import Bound, Course
from planning.timing.doors import Doors
from planning.timing.refusals import no_room, not_in_time, refuse_inconsistent
from planning.timing.temporal import TOLERANCE_MIN

Starts = list[float]
Ends = list[float]


def earliest(course: Course, doors: Doors | None = None) -> tuple[Starts, Ends]:
    """The starts and ends of works, in minutes, each as early as can be.

    Raises InconsistentWindows, and CalendarTooNarrow where `doors` leave no room for a work or a window.
    """
    floors = [0.0] * len(course.order)
    pulled: list[Bound] = []
    rounds = 0
    while True:
        starts, ends = pushed(course, doors, floors)
        if doors is not None and ends and ends[-1] == inf:
            no_room(course, doors)
            refuse_inconsistent(course)
            raise not_in_time(course, ends, pulled)
        pulled = _pulled(course, starts, ends, floors)
        if not pulled:
            return starts, ends
        rounds += 1
        if doors is None and rounds > len(course.most):
            # A longest path takes each greatest lag once at most; what still moves runs in a circle.
            refuse_inconsistent(course)
            return starts, ends


def latest(course: Course, finish_min: float, doors: Doors | None = None) -> Starts:
    """The starts of works, each as late as can be while all waits are over at `finish_min`.

    `finish_min` is not before the finish of the earliest schedule.
    """
    ceilings = [inf] * len(course.order)
    while True:
        starts = _drawn_back(course, finish_min, doors, ceilings)
        moved = False
        for before, after, minutes in course.most:
            allowed = starts[before] + course.work_min[before] + minutes
            if starts[after] > allowed + TOLERANCE_MIN:
                ceilings[after] = min(ceilings[after], allowed)
                moved = True
        if not moved:
            return starts


def pushed(course: Course, doors: Doors | None, floors: Sequence[float]) -> tuple[Starts, Ends]:
    """Starts and ends no earlier than `floors`, by the turn of the works, least lags and opening hours."""
    starts: Starts = []
    ends: Ends = []
    free = 0.0
    for position, work in enumerate(course.work_min):
        floor = floors[position]
        start = free if free > floor else floor
        for before, minutes in course.least_into[position]:
            ready = ends[before] + minutes
            if ready > start:
                start = ready
        if doors is None:
            free = start + work
        else:
            start, free = doors.fit(start, work, course.pauses[position])
        starts.append(start)
        ends.append(free)
    return starts, ends


def _pulled(course: Course, starts: Starts, ends: Ends, floors: list[float]) -> list[Bound]:
    """Raise `floors` to where the greatest lags are kept by the starts as they are; those that are not."""
    exceeded: list[Bound] = []
    for bound in course.most:
        before, after, minutes = bound
        late = starts[after] - ends[before] - minutes
        if late > TOLERANCE_MIN:
            floors[before] = max(floors[before], starts[before] + late)
            exceeded.append(bound)
    return exceeded


def _drawn_back(course: Course, finish_min: float, doors: Doors | None, ceilings: Sequence[float]) -> Starts:
    starts: Starts = [0.0] * len(course.order)
    following = inf
    for position in range(len(course.order) - 1, -1, -1):
        work = course.work_min[position]
        end_by, ceiling = finish_min - course.wait_min[position], ceilings[position]
        if following < end_by:
            end_by = following
        for after, minutes in course.least_from[position]:
            if starts[after] - minutes < end_by:
                end_by = starts[after] - minutes
        if doors is None:
            following = end_by - work if end_by - work < ceiling else ceiling
        else:
            following = doors.last_start(ceiling, end_by, work, course.pauses[position])
        starts[position] = following
    return starts
