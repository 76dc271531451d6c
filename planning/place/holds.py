"""Stages that are not begun before the place is fit for the material that they apply."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from planning.place.air import Course
from planning.place.breaches import Breach, breaches
from planning.place.model import Hold
from planning.place.telling import told
from rules.pack import Application, Stage

Applied = tuple[str, str, Application]
"""A stage, a material that it applies, and the place that the material asks for."""


def holds_of(
    applied: Sequence[Applied], courses: Mapping[str, Course], stages: Mapping[str, Stage]
) -> tuple[Hold, ...]:
    """Every broken bound, in working order; equal ones of several stages or materials are one hold."""
    found: dict[Hold, tuple[dict[str, None], dict[str, None]]] = {}
    for stage, material, application in applied:
        for breach in breaches(application, courses[stage]):
            of_stages, of_materials = found.setdefault(_hold(breach, application, stages), ({}, {}))
            of_stages[stage] = None
            of_materials[material] = None
    return tuple(
        replace(hold, stages=tuple(of_stages), materials=tuple(of_materials))
        for hold, (of_stages, of_materials) in found.items()
    )


def _hold(breach: Breach, application: Application, stages: Mapping[str, Stage]) -> Hold:
    """The hold for a breach, its stages and materials still to be filled in."""
    bound = breach.bound
    return Hold(
        measure=bound.measure,
        value=breach.value,
        at_least=bound.value if bound.lowest else None,
        at_most=None if bound.lowest else bound.value,
        expected=breach.after is not None,
        stages=(),
        materials=(),
        mended_by=breach.mended_by,
        told=told(breach, application.surface_c, stages),
        source=application.source,
    )
