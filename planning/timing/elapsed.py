"""The distribution of a procedure's elapsed time: the earliest schedule of every sampled job.

The model in time is that of `planning.timing.earliest`: in every job a stage is put off as if it were known
how long the works after it take. A window is missed where it cannot be kept even so: where the works that lie
between its two ends, and their waits, take longer than it stays open. Then the works and waits from the
stage to go back to up to the target are done once more, after which the window counts as kept; where there
is none to go back to, it counts as if it never closed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planning.timing.course import Bound, Course
from planning.timing.sampled_doors import SampledDoors
from planning.timing.temporal import TOLERANCE_MIN

Samples = NDArray[np.float64]
Jobs = NDArray[np.bool_]

_ROUNDS = 60
"""More are needed only by windows that a job cannot keep."""


@dataclass(frozen=True)
class SampledJobs:
    """Minutes of every job, shape (jobs,), repeated works included; `missed` has one entry a greatest lag."""

    elapsed_min: Samples
    work_min: Samples
    missed: tuple[Jobs | None, ...]

    def kept_probability(self, number: int) -> float:
        """The part of jobs that keep a greatest lag, by its place in the course."""
        missed = self.missed[number]
        return 1.0 if missed is None else 1.0 - float(missed.mean())

    def all_kept_probability(self) -> float:
        """The part of jobs that keep all of them."""
        masks = [missed for missed in self.missed if missed is not None]
        return 1.0 - float(np.logical_or.reduce(masks).mean()) if masks else 1.0


@dataclass(frozen=True)
class _Again:
    """What is done once more before a stage, by job: wall minutes and the work in them."""

    lasts: Samples
    work: Samples


def sampled_jobs(
    course: Course, works: Samples, go_back: Sequence[int | None], doors: SampledDoors | None = None
) -> SampledJobs:
    """The jobs with these works, one row for each stage of the course, which is not empty.

    `go_back` is the position of the stage to go back to, for every greatest lag of the course.
    """
    roomy = [_is_roomy(works, bound, rest) for bound, rest in zip(course.most, course.rest_min, strict=True)]
    missed = [
        None if room else _missed(course, works, bound)
        for bound, room in zip(course.most, roomy, strict=True)
    ]
    while True:
        again = _again(course, works, go_back, missed)
        ends, late = _settled(course, works, missed, roomy, again, doors)
        if all(jobs is None for jobs in late):
            break
        missed = [_either(one, other) for one, other in zip(missed, late, strict=True)]
    finishes = [ends[position] + wait for position, wait in course.last_waits]
    work = works.sum(axis=0)
    for repeated in again.values():
        work = work + repeated.work
    return SampledJobs(reduce(np.maximum, finishes), work, tuple(missed))


def _is_roomy(works: Samples, bound: Bound, rest_min: float) -> bool:
    """Whether the longest works of all jobs leave room to keep a greatest lag: then no job needs a look."""
    before, after, _ = bound
    if after == before + 1:
        return rest_min >= 0
    return float(works[before + 1 : after].max(axis=1).sum()) <= rest_min


def _missed(course: Course, works: Samples, bound: Bound) -> Jobs | None:
    """The jobs in which the works between take longer than the window stays open; None: in none of them."""
    before, after, most = bound
    if after == before + 1:
        return None
    missed = _path(course, works, before + 1, after, from_end_of=before) > most + TOLERANCE_MIN
    return missed if np.count_nonzero(missed) else None


def _path(course: Course, works: Samples, first: int, target: int, from_end_of: int | None = None) -> Samples:
    """Minutes from the start of `first`, or the end of the stage before, to the start of the target."""
    ends: dict[int, Samples] = {}
    free: Samples = np.zeros(works.shape[1])
    if from_end_of is not None:
        ends[from_end_of] = free
    for position in range(first, target + 1):
        for earlier, minutes in course.least_into[position]:
            if earlier in ends:
                free = np.maximum(free, ends[earlier] + minutes)
        if position < target:
            free = ends[position] = free + works[position]
    return free


def _again(
    course: Course, works: Samples, go_back: Sequence[int | None], missed: Sequence[Jobs | None]
) -> dict[int, _Again]:
    """What is done once more, by the position of the stage before which it is done."""
    found: dict[int, _Again] = {}
    for (_, target, _), back, jobs in zip(course.most, go_back, missed, strict=True):
        if jobs is None or back is None:
            continue
        lasts = np.where(jobs, _path(course, works, back, target), 0.0)
        work = np.where(jobs, works[back:target].sum(axis=0), 0.0)
        other = found.get(target)
        if other is not None:
            lasts, work = np.maximum(lasts, other.lasts), np.maximum(work, other.work)
        found[target] = _Again(lasts, work)
    return found


def _settled(
    course: Course,
    works: Samples,
    missed: Sequence[Jobs | None],
    roomy: Sequence[bool],
    again: Mapping[int, _Again],
    doors: SampledDoors | None,
) -> tuple[list[Samples], list[Jobs | None]]:
    """The ends of works, and the jobs in which a greatest lag cannot be kept together with the others."""
    floors: dict[int, Samples] = {}
    reached = _Reached([], [], [])
    for _ in range(len(course.most) + 1 if doors is None else _ROUNDS):
        _push(reached, course, works, floors, again, doors)
        turns, ends, _ = reached
        late: list[Jobs | None] = [None] * len(course.most)
        first = len(works)
        nothing_between = doors is None and not floors and not again
        for number, (before, after, most) in enumerate(course.most):
            if nothing_between and roomy[number]:
                continue
            lag = turns[after] - ends[before]
            jobs, gone = lag > most + TOLERANCE_MIN, missed[number]
            if gone is not None:
                jobs &= ~gone
            if np.count_nonzero(jobs):
                late[number] = jobs
                opened = np.where(jobs, turns[before] + (lag - most), 0.0)
                floors[before] = np.maximum(floors[before], opened) if before in floors else opened
                first = min(first, before)
        if first == len(works):
            break
        for moments in reached:
            del moments[first:]
    return ends, late


class _Reached(NamedTuple):
    """For each stage, when it could start were nothing done once more before it, and when it ends.

    `until` is how long the door then stays open, without meaning where there are no opening hours.
    """

    turns: list[Samples]
    ends: list[Samples]
    until: list[Samples]


def _push(
    reached: _Reached,
    course: Course,
    works: Samples,
    floors: Mapping[int, Samples],
    again: Mapping[int, _Again],
    doors: SampledDoors | None,
) -> None:
    """Reckon on from the last stage that is reached to the end of the job."""
    turns, ends, untils = reached
    turn: Samples = ends[-1] if ends else np.zeros(works.shape[1])
    until: Samples = untils[-1] if untils else np.full(works.shape[1], -inf)
    for position, work in enumerate(works[len(ends) :], start=len(ends)):
        for before, minutes in course.least_into[position]:
            ready = ends[before] + minutes
            # What lies at the stage just before is never sooner than the turn.
            turn = ready if before == position - 1 else np.maximum(turn, ready)
        if position in floors:
            turn = np.maximum(turn, floors[position])
        once_more = again.get(position)
        if doors is None:
            start, end = turn, turn + work
            if once_more is not None:
                end = turn + once_more.lasts + work
        else:
            pauses = course.pauses[position]
            start, end, closes = doors.fit(turn, work, pauses, until)
            if once_more is not None:
                _, end, closes = doors.fit(_repeated(turn, once_more, doors), work, pauses, until)
            until = closes
        turns.append(start)
        ends.append(end)
        untils.append(until)
        turn = end


def _repeated(turn: Samples, again: _Again, doors: SampledDoors) -> Samples:
    """When what is done once more is over; its works go on whenever the door is open."""
    return doors.resumed(turn, again.work) + (again.lasts - again.work)


def _either(one: Jobs | None, other: Jobs | None) -> Jobs | None:
    if one is None or other is None:
        return other if one is None else one
    return one | other
