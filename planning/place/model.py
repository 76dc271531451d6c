"""What is known of the place of work."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Measure(Enum):
    """What of the place a material asks something of."""

    AIR = "air_temperature_c"
    SURFACE = "surface_temperature_c"
    HUMIDITY = "relative_humidity_pct"
    DEW_MARGIN = "surface_margin_k"


@dataclass(frozen=True)
class Hold:
    """`stages` that apply `materials` are not begun while `measure` is outside a bound.

    One of `at_least` and `at_most` is the bound, the other None; `value` is what was measured, or what it
    becomes once the place was made fit otherwise (`expected`). `mended_by` is the stage of the procedure
    that sees to it beforehand; None where none does, so that the stages are held.
    """

    measure: Measure
    value: float
    at_least: float | None
    at_most: float | None
    expected: bool
    stages: tuple[str, ...]
    materials: tuple[str, ...]
    mended_by: str | None
    told: str
    source: str


@dataclass(frozen=True)
class PlaceReport:
    """Dew point, and how far the surface is above it, for the `stages` to which the place matters.

    None stands for what is not known; air without moisture has no dew point. `holds` are all bounds that
    are broken, `warning` is what people are told of those that no stage mends, None where there are none.
    """

    stages: tuple[str, ...]
    dew_point_c: float | None
    surface_margin_k: float | None
    holds: tuple[Hold, ...]
    warning: str | None

    def held(self, stage: str) -> tuple[str, ...]:
        """What has to be mended before `stage` may be begun, by hand of whoever does it."""
        return tuple(hold.told for hold in self.holds if hold.mended_by is None and stage in hold.stages)
