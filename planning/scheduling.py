"""From stages in order to a schedule: the timeline, sampled jobs, and windows as people follow them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planning.arranging import Arrangement
from planning.timing.calendar import HORIZON_DAYS
from planning.timing.course import Course, course_of
from planning.timing.doors import Doors
from planning.timing.elapsed import SampledJobs, sampled_jobs
from planning.timing.model import StageWindow, Timeline
from planning.timing.refusals import CalendarTooNarrow
from planning.timing.sampled_doors import SampledDoors
from planning.timing.sampling import quantiles, work_samples
from planning.timing.sentences import in_words
from planning.timing.start import Start
from planning.timing.timeline import scheduled


@dataclass(frozen=True)
class Schedule:
    """`jobs` is None where there is nothing to do; `windows` are those of each stage, with sentences."""

    timeline: Timeline
    jobs: SampledJobs | None
    windows: Mapping[str, tuple[StageWindow, ...]]


def schedule(plan: Arrangement, start: Start) -> Schedule:
    """The schedule of stages in order. Raises InconsistentWindows and CalendarTooNarrow."""
    sizes, course = plan.sizes, course_in(plan)
    titles = {name: size.stage.title for name, size in sizes.items()}
    timeline = scheduled(course, start, titles)
    jobs = _jobs(plan, course, start.doors) if course.order else None
    return Schedule(timeline, jobs, _windows(plan, course, timeline, jobs, start, titles))


def course_in(plan: Arrangement) -> Course:
    """What the schedule is made of, at median work."""
    return course_of(
        list(plan.sizes),
        {name: size.work_min.p50 for name, size in plan.sizes.items()},
        {name: size.wait_min for name, size in plan.sizes.items()},
        plan.lags,
        {name for name, size in plan.sizes.items() if size.stage.may_pause},
    )


def going_back(plan: Arrangement, course: Course) -> list[int | None]:
    """Where to go back to when a greatest lag is missed, by its place in the course."""
    missed = {
        (window.after, later): window.if_missed
        for later, windows in plan.windows.items()
        for window in windows
        if window.not_after_min is not None
    }
    return [
        _position(course, missed.get((course.order[before], course.order[after])), before)
        for before, after, _ in course.most
    ]


def _jobs(plan: Arrangement, course: Course, doors: Doors | None) -> SampledJobs:
    works = work_samples([size.work for size in plan.sizes.values()])
    jobs = sampled_jobs(course, works, going_back(plan, course), SampledDoors(doors) if doors else None)
    if doors is not None and quantiles(jobs.elapsed_min).p95 > doors.horizon_min:
        raise CalendarTooNarrow(
            f"one job in twenty is not done within {HORIZON_DAYS} days of these opening hours; lengthen them"
        )
    return jobs


def _position(course: Course, stage: str | None, before: int) -> int | None:
    """Where to go back to: the stage before the window where the one that is named is not in the job."""
    if stage is None:
        return None
    named = course.order.index(stage) if stage in course.order else before
    return min(named, before)


def _windows(
    plan: Arrangement,
    course: Course,
    timeline: Timeline,
    jobs: SampledJobs | None,
    start: Start,
    titles: Mapping[str, str],
) -> dict[str, tuple[StageWindow, ...]]:
    ends_min = {timed.stage: timed.work_end_min for timed in timeline.stages}
    kept = {
        (course.order[before], course.order[after]): jobs.kept_probability(number) if jobs else 1.0
        for number, (before, after, _) in enumerate(course.most)
    }
    return {
        later: tuple(
            in_words(
                window,
                kept.get((window.after, later), 1.0),
                titles,
                ends_min[window.after],
                start,
                (plan.sizes[later].work_min.p50, plan.sizes[later].stage.may_pause),
            )
            for window in windows
        )
        for later, windows in plan.windows.items()
    }
