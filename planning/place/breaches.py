"""Bounds of the place that one material asks for, and how they are broken and kept again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planning.place.air import Air, Course
from planning.place.model import Measure
from planning.rounding import tenth_down, tenth_up
from rules.pack import Application


@dataclass(frozen=True)
class Bound:
    """A lowest (else highest) value that is still good."""

    measure: Measure
    value: float
    lowest: bool

    def broken_by(self, air: Air) -> float | None:
        """The value that lies beyond, to the tenth farther out; None where none does or none is known."""
        found = air.values.get(self.measure)
        if found is None:
            return None
        shown = tenth_down(found) if self.lowest else tenth_up(found)
        broken = shown < self.value if self.lowest else shown > self.value
        return shown if broken else None


@dataclass(frozen=True)
class Breach:
    """A bound that is broken by `value` in `air`.

    `after` is the stage that has made the air so; None where it was found so. `mended_by` is the stage
    from whose end on the bound is kept; None where it is still broken in the end.
    """

    bound: Bound
    value: float
    air: Air
    after: str | None
    mended_by: str | None


def breaches(application: Application, course: Course) -> Iterator[Breach]:
    """What is broken in the end, as it is then; what is mended before, as it was first."""
    for bound in _bounds(application):
        values = [bound.broken_by(air) for _, air in course]
        broken = [(step, value) for step, value in enumerate(values) if value is not None]
        if not broken:
            continue
        last = broken[-1][0]
        stays = last == len(course) - 1
        step, value = broken[-1] if stays else broken[0]
        by, air = course[step]
        yield Breach(
            bound=bound,
            value=value,
            air=air,
            after=None if value == values[0] else by,
            mended_by=None if stays else course[last + 1][0],
        )


def _bounds(application: Application) -> Iterator[Bound]:
    ranges = {
        Measure.AIR: application.air_c,
        Measure.SURFACE: application.surface_c,
        Measure.HUMIDITY: application.humidity_pct,
    }
    for measure, (low, high) in ranges.items():
        yield Bound(measure, low, lowest=True)
        yield Bound(measure, high, lowest=False)
    yield Bound(Measure.DEW_MARGIN, application.dew_margin_k, lowest=True)
