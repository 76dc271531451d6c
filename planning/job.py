"""What planning reads of the facts, by their names in the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.conditions import Value


@dataclass(frozen=True)
class Job:
    """Size of the work and the place it is done in; None for a fact that the pack does not declare."""

    area_m2: float | None = None
    damage_length_mm: float | None = None
    damage_count: float | None = None
    air_temperature_c: float | None = None
    surface_temperature_c: float | None = None
    relative_humidity_pct: float | None = None


def job_of(facts: Mapping[str, Value]) -> Job:
    """Read `facts` (complete, so that a number is a number)."""
    return Job(
        area_m2=_number(facts, "area_m2"),
        damage_length_mm=_number(facts, "damage_length_mm"),
        damage_count=_number(facts, "damage_count"),
        air_temperature_c=_number(facts, "air_temperature_c"),
        surface_temperature_c=_number(facts, "surface_temperature_c"),
        relative_humidity_pct=_number(facts, "relative_humidity_pct"),
    )


def _number(facts: Mapping[str, Value], name: str) -> float | None:
    return float(facts[name]) if name in facts else None
