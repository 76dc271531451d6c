"""Required stages brought into order and sized, with the windows between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planning.job import Job
from planning.learning.model import Learned
from planning.pace import Pace, pace_of
from planning.place.air import measured
from planning.stages import SizedStage, sized_for
from planning.template import Properties, Template, template_of
from planning.timing.course import Course
from rules.decision import Decision
from rules.pack import Pack


@dataclass(frozen=True)
class Arrangement:
    """Stages in working order, by id, and the course of the job at median work."""

    template: Template
    pace: Pace
    sizes: Mapping[str, SizedStage]
    course: Course


def arranged(
    pack: Pack,
    decision: Decision,
    properties: Properties,
    job: Job,
    learned: Mapping[str, Learned] | None = None,
    jurisdiction: str | None = None,
) -> Arrangement:
    """The stages of a decision for a job on a plastic with these properties. Raises StageCircle.

    `learned` is what the shop's finished jobs say, by stage. The rest is remembered: none of it may change.
    """
    template = template_of(pack, decision, properties, jurisdiction)
    pace = pace_of(template, measured(job))
    lessons = learned or {}
    sizes = {name: sized_for(ready, job, lessons.get(name)) for name, ready in pace.ready.items()}
    course = pace.course.with_work([size.work_min.p50 for size in sizes.values()])
    return Arrangement(template, pace, sizes, course)
