"""Volumes and areas of what is cut, filled and covered at a damage.

Lengths are in mm, areas in mm², volumes in mm³ (1000 mm³ are 1 ml). A damage is a rectangle of a length and a
width; that of a line, such as a crack, is 0. What lies within a distance r of it has the area
L x W + r x 2 (L + W) + pi r² (Steiner's formula for a parallel body, exact for what is convex).
"""

from __future__ import annotations

from math import pi, radians, tan

MM3_PER_ML = 1000.0
CM2_PER_M2 = 10_000.0
MM2_PER_M2 = 1_000_000.0


def within_mm2(length_mm: float, width_mm: float, around_mm: float) -> float:
    """The area of a damage and of everything within a distance of it."""
    border = 2 * (length_mm + width_mm) * around_mm
    return length_mm * width_mm + border + pi * around_mm * around_mm


def v_groove_mm2(depth_mm: float, angle_deg: float) -> float:
    """The section of a V groove whose sides enclose an angle: depth² x tan(angle / 2)."""
    return depth_mm * depth_mm * tan(radians(angle_deg) / 2)


def v_groove_width_mm(depth_mm: float, angle_deg: float) -> float:
    """How wide a V groove is at the face: 2 x depth x tan(angle / 2)."""
    return 2 * depth_mm * tan(radians(angle_deg) / 2)


def dish_mm3(length_mm: float, width_mm: float, depth_mm: float, taper_mm: float) -> float:
    """The volume of a groove that is tapered over `taper_mm` on all sides like a shallow dish.

    Its ground is as large as the damage, its sides rise as a parabola does: the section of a line is two
    thirds of width x depth, and its two ends together are a paraboloid, half of pi r² x depth.
    """
    ground_mm3 = length_mm * width_mm * depth_mm
    sides_mm3 = 2 * (length_mm + width_mm) * taper_mm * depth_mm * 2 / 3
    return ground_mm3 + sides_mm3 + pi * taper_mm * taper_mm * depth_mm / 2


def overfill_mm3(
    length_mm: float, width_mm: float, taper_mm: float, overfill_mm: float, run_out_mm: float
) -> float:
    """What stands proud of the face: full height over the dish, running out to nothing beyond it.

    The run-out is a wedge; it counts with half its height.
    """
    dish_mm2 = within_mm2(length_mm, width_mm, taper_mm)
    whole_mm2 = within_mm2(length_mm, width_mm, taper_mm + run_out_mm)
    return overfill_mm * (dish_mm2 + (whole_mm2 - dish_mm2) / 2)
