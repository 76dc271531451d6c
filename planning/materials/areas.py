"""What a stage covers: the whole part, the repair and a margin around it, or a hidden spot."""

from __future__ import annotations

from dataclasses import dataclass

from planning.job import Job
from planning.materials.grooves import MM2_PER_M2, within_mm2
from planning.parameters import Parameters, number


@dataclass(frozen=True)
class Spot:
    """The size of one damage, and how many there are; `length_mm` 0: there is none to work around."""

    length_mm: float
    width_mm: float
    depth_mm: float
    count: float


def spot_of(job: Job) -> Spot:
    """The damage of a job; no wider than it is long, since the length is its longest extent."""
    length_mm = job.damage_length_mm or 0.0
    return Spot(
        length_mm=length_mm,
        width_mm=min(job.damage_width_mm or 0.0, length_mm),
        depth_mm=job.damage_depth_mm or 0.0,
        count=1.0 if job.damage_count is None else job.damage_count,
    )


def covered_m2(parameters: Parameters, spot: Spot, part_m2: float | None) -> float | None:
    """The area that a stage works on; None where the painted area is not known.

    With `covers: repair` it is what lies within `around_mm` of each damage, though never more than the
    part; a damage without a length may be anywhere, so that the whole part counts. With `covers: trial` it
    is a hidden spot, which counts nothing.
    """
    if parameters.get("covers") == "trial":
        return 0.0
    if parameters.get("covers") != "repair" or not spot.length_mm:
        return part_m2
    around_mm = number(parameters, "around_mm") or 0.0
    area_m2 = spot.count * within_mm2(spot.length_mm, spot.width_mm, around_mm) / MM2_PER_M2
    return area_m2 if part_m2 is None else min(area_m2, part_m2)
