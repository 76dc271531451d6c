"""What a stage covers: the whole part, the repair and a margin around it, or a hidden spot."""

from __future__ import annotations

from dataclasses import dataclass

from planning.job import Spot
from planning.materials.grooves import MM2_PER_M2, within_mm2
from planning.parameters import Parameters, number, text


@dataclass(frozen=True)
class Cover:
    """What a stage covers: `repair` with so much around each damage, a `trial` spot, else the part."""

    covers: str | None
    around_mm: float


def cover_of(parameters: Parameters) -> Cover:
    """What a stage with these parameters covers."""
    return Cover(text(parameters, "covers"), number(parameters, "around_mm") or 0.0)


def covered_m2(cover: Cover, spot: Spot, part_m2: float | None) -> float | None:
    """The area that a stage works on; None where the painted area is not known.

    With `covers: repair` it is what lies within `around_mm` of each damage, though never more than the
    part; a damage without a length may be anywhere, so that the whole part counts. With `covers: trial` it
    is a hidden spot, which counts nothing.
    """
    if cover.covers == "trial":
        return 0.0
    if cover.covers != "repair" or not spot.length_mm:
        return part_m2
    area_m2 = spot.count * within_mm2(spot.length_mm, spot.width_mm, cover.around_mm) / MM2_PER_M2
    return area_m2 if part_m2 is None else min(area_m2, part_m2)
