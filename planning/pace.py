"""How a template goes in the air of a place: waits, windows and what is fit to be applied, whatever the size.

Remembered like the template itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from planning.order import dependencies
from planning.place.air import Air, courses
from planning.place.holding import held_back
from planning.place.model import PlaceReport
from planning.place.report import place_report
from planning.stages import ReadyStage, made_ready
from planning.template import Template
from planning.timing.batches import pots_of
from planning.timing.conditions import conditions_of, with_terms_of_materials
from planning.timing.course import Course, course_of
from planning.timing.model import StageWindow
from planning.timing.pot_life import Pot
from planning.timing.windows import wait_lags, window_lags, windows_by_stage
from rules.same import Same


@dataclass(frozen=True)
class Pace:
    """Stages in working order, by id, and the windows, mixed materials and holds of those that have any.

    `course` has no work in it yet. `go_back` says where to go back to, for each of its greatest lags, when it
    is missed.
    """

    ready: Mapping[str, ReadyStage]
    windows: Mapping[str, tuple[StageWindow, ...]]
    course: Course
    go_back: tuple[int | None, ...]
    pots: Mapping[str, tuple[Pot, ...]]
    place: PlaceReport | None
    held: Mapping[str, tuple[str, ...]]


def pace_of(template: Template, air: Air) -> Pace:
    """The pace of a template in `air` as it was found."""
    return _pace(Same(template), air)


@lru_cache(maxsize=512)
def _pace(same: Same[Template], air: Air) -> Pace:
    template = same.it
    stages, parameters, materials = template.stages, template.parameters, template.pack.materials
    order = tuple(stages)
    conditions = {
        name: conditions_of(stages[name], parameters[name], course[-1][1], materials, template.properties)
        for name, course in courses(order, stages, air).items()
    }
    ready = {
        name: made_ready(with_terms_of_materials(stage, materials), parameters[name], conditions[name])
        for name, stage in stages.items()
    }
    earlier = dependencies(template.pack.stages, order)
    wait_min = {name: ready[name].wait_min for name in order}
    air_c = {name: conditions[name].air_c for name in order}
    windows = windows_by_stage(order, stages, parameters, earlier, wait_min, air_c)
    lags = (*wait_lags(order, earlier, wait_min), *window_lags(windows))
    place = place_report(air, order, stages, materials)
    may_pause = {name for name in order if stages[name].may_pause}
    course = course_of(order, dict.fromkeys(order, 0.0), wait_min, lags, may_pause)
    return Pace(
        ready=ready,
        windows={later: opened for later, opened in windows.items() if opened},
        course=course,
        go_back=_going_back(course, windows),
        pots=pots_of(stages.values(), materials, air_c),
        place=place,
        held=held_back(place, order),
    )


def _going_back(course: Course, windows: Mapping[str, tuple[StageWindow, ...]]) -> tuple[int | None, ...]:
    """Where to go back to when a greatest lag is missed, by its place in the course."""
    missed = {
        (window.after, later): window.if_missed
        for later, opened in windows.items()
        for window in opened
        if window.not_after_min is not None
    }
    return tuple(
        _position(course, missed.get((course.order[before], course.order[after])), before)
        for before, after, _ in course.most
    )


def _position(course: Course, stage: str | None, before: int) -> int | None:
    """Where to go back to: the stage before the window where the one that is named is not in the job."""
    if stage is None:
        return None
    named = course.order.index(stage) if stage in course.order else before
    return min(named, before)
