"""The place as it is measured, and as it is after the stages that make it fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from planning.job import Job
from planning.place.dew_point import dew_point_c, relative_humidity_pct
from planning.place.model import Measure
from rules.pack import Climate, Stage


@dataclass(frozen=True)
class Air:
    """Air and surface; None for what is not known. `least_margin_k` is assured by a stage's own check."""

    air_c: float | None
    surface_c: float | None
    humidity_pct: float | None
    least_margin_k: float | None = None

    @property
    def dew_c(self) -> float | None:
        """The dew point; None for air without moisture, or of which too little is known."""
        if self.air_c is None or not self.humidity_pct:
            return None
        return dew_point_c(self.air_c, self.humidity_pct)

    @property
    def margin_k(self) -> float | None:
        """How far the surface is above the dew point."""
        if self.surface_c is None or self.dew_c is None:
            return self.least_margin_k
        margin_k = self.surface_c - self.dew_c
        return margin_k if self.least_margin_k is None else max(margin_k, self.least_margin_k)

    @cached_property
    def values(self) -> dict[Measure, float]:
        """What is known, by measure."""
        known = {
            Measure.AIR: self.air_c,
            Measure.SURFACE: self.surface_c,
            Measure.HUMIDITY: self.humidity_pct,
            Measure.DEW_MARGIN: self.margin_k,
        }
        return {measure: value for measure, value in known.items() if value is not None}


Course = tuple[tuple[str | None, Air], ...]
"""The stage that made the place so (None: nobody, it was found so), and the place; the last is now."""


def measured(job: Job) -> Air:
    """The place as the line item states it."""
    return Air(job.air_temperature_c, job.surface_temperature_c, job.relative_humidity_pct)


def brought(air: Air, climate: Climate) -> Air:
    """The place after a stage that brings `climate`.

    Air that is warmed or cooled keeps its dew point, and its humidity changes with it; drying takes
    moisture out and never adds any.
    """
    air = _tempered(air, climate)
    if climate.surface_c is not None:
        air = replace(air, surface_c=climate.surface_c)
    if climate.humidity_pct is not None and air.humidity_pct is not None:
        air = replace(air, humidity_pct=min(air.humidity_pct, climate.humidity_pct))
    if climate.dew_margin_k is not None:
        air = replace(air, least_margin_k=climate.dew_margin_k)
    return air


def courses(order: Sequence[str], stages: Mapping[str, Stage], first: Air) -> dict[str, Course]:
    """For each stage in `order`, the place as it was first and after every stage before that changed it."""
    course: Course = ((None, first),)
    found: dict[str, Course] = {}
    for name in order:
        found[name] = course
        climate = stages[name].brings
        if climate is not None:
            course = (*course, (name, brought(course[-1][1], climate)))
    return found


def _tempered(air: Air, climate: Climate) -> Air:
    if climate.air_c is None:
        return air
    dew_c = air.dew_c
    humidity_pct = air.humidity_pct if dew_c is None else relative_humidity_pct(climate.air_c, dew_c)
    return replace(air, air_c=climate.air_c, humidity_pct=humidity_pct)
