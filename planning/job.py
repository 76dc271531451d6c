"""What planning reads of the facts, by their names in the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property

from rules.conditions import Value


@dataclass(frozen=True)
class Spot:
    """The size of one damage, and how many there are; `length_mm` 0: there is none to work around."""

    length_mm: float
    width_mm: float
    depth_mm: float
    count: float


@dataclass(frozen=True)
class Job:
    """Size of the work and the place it is done in; None for a fact that the pack does not declare.

    `said` holds the facts that are no numbers, which say how hard the work is.
    """

    area_m2: float | None = None
    damage_length_mm: float | None = None
    damage_count: float | None = None
    damage_width_mm: float | None = None
    damage_depth_mm: float | None = None
    air_temperature_c: float | None = None
    surface_temperature_c: float | None = None
    relative_humidity_pct: float | None = None
    said: Mapping[str, str | bool] = field(default_factory=dict, hash=False)

    @cached_property
    def spot(self) -> Spot:
        """The damage; no wider than it is long, since the length is its longest extent."""
        length_mm = self.damage_length_mm or 0.0
        return Spot(
            length_mm=length_mm,
            width_mm=min(self.damage_width_mm or 0.0, length_mm),
            depth_mm=self.damage_depth_mm or 0.0,
            count=1.0 if self.damage_count is None else self.damage_count,
        )


_NUMBERS = tuple(each.name for each in fields(Job) if each.name != "said")


def job_of(facts: Mapping[str, Value]) -> Job:
    """Read `facts` (complete, so that a number is a number)."""
    # -0.0 equals 0.0 but is written otherwise; what is remembered for the one would be told of the other.
    numbers = {name: float(facts[name]) + 0.0 for name in _NUMBERS if name in facts}
    return Job(**numbers, said={name: each for name, each in facts.items() if isinstance(each, (str, bool))})
