"""From stages in order to a schedule: the timeline, sampled jobs, and windows as people follow them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planning.arranging import Arrangement
from planning.timing.calendar import HORIZON_DAYS
from planning.timing.doors import Doors
from planning.timing.elapsed import SampledJobs, sampled_jobs
from planning.timing.model import StageWindow, Timeline
from planning.timing.refusals import CalendarTooNarrow
from planning.timing.sampled_doors import SampledDoors
from planning.timing.sampling import quantiles, work_samples
from planning.timing.sentences import in_words
from planning.timing.start import Start
from planning.timing.timeline import scheduled

Windows = Mapping[str, tuple[StageWindow, ...]]


@dataclass(frozen=True)
class Schedule:
    """`jobs` is None where there is nothing to do; `windows` have sentences, by the stage they lead to."""

    timeline: Timeline
    jobs: SampledJobs | None
    windows: Windows


def schedule(plan: Arrangement, start: Start) -> Schedule:
    """The schedule of stages in order. Raises InconsistentWindows and CalendarTooNarrow."""
    timeline = scheduled(plan.course, start, plan.template.titles)
    jobs = _jobs(plan, start.doors) if plan.sizes else None
    return Schedule(timeline, jobs, _windows(plan, timeline, jobs, start))


def _jobs(plan: Arrangement, doors: Doors | None) -> SampledJobs:
    works = work_samples([size.work for size in plan.sizes.values()])
    jobs = sampled_jobs(plan.course, works, plan.pace.go_back, SampledDoors(doors) if doors else None)
    if doors is not None and quantiles(jobs.elapsed_min).p95 > doors.horizon_min:
        raise CalendarTooNarrow(
            f"one job in twenty is not done within {HORIZON_DAYS} days of these opening hours; lengthen them"
        )
    return jobs


def _windows(plan: Arrangement, timeline: Timeline, jobs: SampledJobs | None, start: Start) -> Windows:
    course, titles = plan.course, plan.template.titles
    ends_min = {timed.stage: timed.work_end_min for timed in timeline.stages}
    kept = {
        (course.order[before], course.order[after]): jobs.kept_probability(number) if jobs else 1.0
        for number, (before, after, _) in enumerate(course.most)
    }
    return {
        later: tuple(
            [
                in_words(
                    window,
                    kept.get((window.after, later), 1.0),
                    titles,
                    ends_min[window.after],
                    start,
                    (plan.sizes[later].work_min.p50, plan.sizes[later].stage.may_pause),
                )
                for window in windows
            ]
        )
        for later, windows in plan.pace.windows.items()
    }
