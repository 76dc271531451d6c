"""Which stages are not begun when their turn comes, and why."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from planning.timing.course import Course
from planning.timing.doors import Doors
from planning.timing.model import PutOff
from planning.timing.start import Start
from planning.timing.temporal import TOLERANCE_MIN
from planning.timing.words import Clock, duration

_LEAST_MIN = 0.05
"""What would be told as 0.0 minutes is not told."""


@dataclass(frozen=True)
class Earliest:
    """The earliest schedule of a course by positions, and what people call its stages."""

    course: Course
    starts: Sequence[float]
    ends: Sequence[float]
    begins: Start
    titles: Mapping[str, str]

    def title(self, position: int) -> str:
        return self.titles[self.course.order[position]]


def put_off(plan: Earliest) -> Iterator[PutOff]:
    """The stages that the works and waits before them would let begin sooner, in order."""
    doors = plan.begins.doors
    for position, start in enumerate(plan.starts):
        ready = _ready(plan.course, plan.ends, position)
        if start <= ready + _LEAST_MIN:
            continue
        fitted = ready if doors is None else _fitted(plan.course, position, ready, doors)[0]
        if doors is not None and start <= fitted + TOLERANCE_MIN:
            yield _by_the_door(plan, position, ready, doors)
        else:
            yield _by_a_window(plan, position, fitted)


def _by_the_door(plan: Earliest, position: int, ready: float, doors: Doors) -> PutOff:
    """The stage itself finds the door closed, or would not be done before it closes."""
    start, clock = plan.starts[position], plan.begins.clock
    number = bisect_right(doors.opens_min, ready) - 1
    closes = doors.closes_min[number] if number >= 0 else None
    opens = doors.opens_min[number + 1]
    why = "the shop is closed"
    if closes is not None and closes > ready:
        work = duration(plan.course.work_min[position])
        why = f"its work of {work} would not be done before the door closes at {_at(clock, closes)}"
    if opens < start - TOLERANCE_MIN:
        why += ", and then is not open long enough at once"
    told = f"{plan.title(position)} {_span(clock, ready, start)}: {why}."
    return PutOff(plan.course.order[position], ready, start, None, closes, opens, told)


def _by_a_window(plan: Earliest, position: int, fitted: float) -> PutOff:
    """A stage after it would start too late, were this one begun when it can be, at `fitted`."""
    course, start, clock = plan.course, plan.starts[position], plan.begins.clock
    _, target, most = max(
        (bound for bound in course.most if bound[0] == position),
        key=lambda bound: plan.starts[bound[1]] - bound[2],
    )
    closed = _closed_in_the_way(plan, position, fitted, target, most)
    why = (
        f"and the door closes at {_at(clock, closed[0])}"
        if closed
        else "and cannot start sooner than it does"
    )
    told = (
        f"{plan.title(position)} {_span(clock, fitted, start)}: {plan.title(target)} has to start within "
        f"{duration(most)} after it, {why}."
    )
    closed_from, closed_until = closed or (None, None)
    return PutOff(
        course.order[position], fitted, start, course.order[target], closed_from, closed_until, told
    )


def _closed_in_the_way(
    plan: Earliest, position: int, fitted: float, target: int, most: float
) -> tuple[float, float] | None:
    """The first closed time that delays what leads to the target; None where it is late for its waits alone.

    The stage is begun at `fitted`, and all after it when its turn comes, whatever the windows.
    """
    course, doors = plan.course, plan.begins.doors
    if doors is None:
        return None
    reached = [*plan.ends[:position], fitted + course.work_min[position]]
    for following in range(position + 1, target + 1):
        ready = _ready(course, reached, following)
        reached.append(ready + course.work_min[following])
    if ready > reached[position] + most + TOLERANCE_MIN:
        return None
    reached = [*plan.ends[:position]]
    for following in range(position, target + 1):
        ready = fitted if following == position else _ready(course, reached, following)
        start, end = _fitted(course, following, ready, doors)
        number = bisect_right(doors.opens_min, start + TOLERANCE_MIN) - 1
        if start > ready + TOLERANCE_MIN:
            return doors.closes_min[number - 1], doors.opens_min[number]
        if end > doors.closes_min[number] + TOLERANCE_MIN:
            return doors.closes_min[number], doors.opens_min[number + 1]
        reached.append(end)
    return None


def _ready(course: Course, ends: Sequence[float], position: int) -> float:
    """When the works and waits before a stage are over."""
    ready = ends[position - 1] if position else 0.0
    for before, minutes in course.least_into[position]:
        ready = max(ready, ends[before] + minutes)
    return ready


def _fitted(course: Course, position: int, ready: float, doors: Doors) -> tuple[float, float]:
    return doors.fit(ready, course.work_min[position], course.pauses[position])


def _span(clock: Clock | None, from_min: float, until_min: float) -> str:
    if clock is None:
        return f"is put off by {duration(until_min - from_min)}"
    return f"is put off from {clock.told_span(clock.from_(from_min), clock.from_(until_min))}"


def _at(clock: Clock | None, minute: float) -> str:
    return f"minute {minute:g}" if clock is None else clock.told(clock.from_(minute))
