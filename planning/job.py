"""What planning reads of the facts, by their names in the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rules.conditions import Value


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


def job_of(facts: Mapping[str, Value]) -> Job:
    """Read `facts` (complete, so that a number is a number)."""
    return Job(
        area_m2=_number(facts, "area_m2"),
        damage_length_mm=_number(facts, "damage_length_mm"),
        damage_count=_number(facts, "damage_count"),
        damage_width_mm=_number(facts, "damage_width_mm"),
        damage_depth_mm=_number(facts, "damage_depth_mm"),
        air_temperature_c=_number(facts, "air_temperature_c"),
        surface_temperature_c=_number(facts, "surface_temperature_c"),
        relative_humidity_pct=_number(facts, "relative_humidity_pct"),
        said={name: value for name, value in facts.items() if isinstance(value, (str, bool))},
    )


def _number(facts: Mapping[str, Value], name: str) -> float | None:
    # -0.0 equals 0.0 but is written otherwise; what is remembered for the one would be told of the other.
    return float(facts[name]) + 0.0 if name in facts else None
