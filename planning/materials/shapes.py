"""What one stage takes of a material by the shape that it is given: a volume, strips or pieces."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import ceil, pi

from planning.job import Spot
from planning.materials.grooves import (
    MM3_PER_ML,
    dish_mm3,
    overfill_mm3,
    v_groove_mm2,
    v_groove_width_mm,
    within_mm2,
)
from planning.materials.model import Strip
from planning.parameters import Parameters, number
from rules.amounts import Amount, Shape

Figures = Mapping[str, float]

MM_PER_DM = 100.0


@dataclass(frozen=True)
class Take:
    """What a stage takes: a volume, strips cut for it, and pieces, which may be a part of one."""

    volume_ml: float = 0.0
    strips: tuple[Strip, ...] = ()
    pieces: float = 0.0
    told: str = ""


def take(amount: Amount, stage: str, spot: Spot, parameters: Parameters) -> Take:
    """The amount for all damages of a job. The groove is cut to `depth_pct` of the depth of the damage."""
    depth_pct = number(parameters, "depth_pct")
    depth_mm = spot.depth_mm * (100.0 if depth_pct is None else depth_pct) / 100
    figures = amount.figures
    if amount.shape is Shape.PIECES:
        return _pieces(figures, spot)
    if amount.shape is Shape.STRIP:
        layers = number(parameters, "layers") or figures["layers"]
        return _strips(figures, stage, spot, int(layers))
    if amount.shape is Shape.V_GROOVE and figures["rod_mm"]:
        return _rod(figures, stage, spot, depth_mm)
    layers = number(parameters, "layers") or 1.0
    volume_mm3, told = _VOLUMES[amount.shape](figures, spot, depth_mm, layers)
    return Take(volume_ml=spot.count * volume_mm3 / MM3_PER_ML, told=told)


def _dish(figures: Figures, spot: Spot, depth_mm: float, _: float) -> tuple[float, str]:
    taper_mm = figures["taper_mm"]
    depth_mm = max(depth_mm, figures["least_depth_mm"])
    overfill_mm, run_out_mm = figures["overfill_mm"], figures["run_out_mm"]
    volume_mm3 = dish_mm3(spot.length_mm, spot.width_mm, depth_mm, taper_mm)
    volume_mm3 += overfill_mm3(spot.length_mm, spot.width_mm, taper_mm, overfill_mm, run_out_mm)
    told = f"a dish {_size(spot)} and {taper_mm:g} mm of taper around it, {depth_mm:g} mm deep"
    if overfill_mm:
        told += f", {overfill_mm:g} mm proud and running out over {run_out_mm:g} mm"
    return volume_mm3, told


def _v_groove(figures: Figures, spot: Spot, depth_mm: float, _: float) -> tuple[float, str]:
    length_mm = spot.length_mm + 2 * figures["beyond_mm"]
    angle_deg, proud_mm = figures["angle_deg"], figures["proud_mm"]
    section_mm2 = v_groove_mm2(depth_mm, angle_deg) + proud_mm * v_groove_width_mm(depth_mm, angle_deg)
    told = f"a groove {length_mm:g} mm long, {depth_mm:g} mm deep, of {angle_deg:g} degrees"
    return section_mm2 * length_mm, told + (f", {proud_mm:g} mm proud" if proud_mm else "")


def _layer(figures: Figures, spot: Spot, _: float, layers: float) -> tuple[float, str]:
    thickness_mm = figures["thickness_mm"] + layers * figures["each_layer_mm"]
    beyond_mm = figures["beyond_mm"]
    told = f"{thickness_mm:g} mm over {_size(spot)} and {beyond_mm:g} mm around it"
    return within_mm2(spot.length_mm, spot.width_mm, beyond_mm) * thickness_mm, told


def _block(figures: Figures, spot: Spot, depth_mm: float, _: float) -> tuple[float, str]:
    thick_mm = depth_mm * (1 + figures["thicker_pct"] / 100)
    told = f"a block of {spot.length_mm:g} x {figures['out_mm']:g} x {thick_mm:.3g} mm"
    return spot.length_mm * figures["out_mm"] * thick_mm, told


def _bead(figures: Figures, spot: Spot, _depth_mm: float, _layers: float) -> tuple[float, str]:
    length_mm = figures["fixed_mm"] + spot.length_mm * figures["along_pct"] / 100
    section_mm2 = figures["section_mm2"]
    return section_mm2 * length_mm, f"a bead of {section_mm2:g} mm² along {length_mm:g} mm"


_VOLUMES: Mapping[Shape, Callable[[Figures, Spot, float, float], tuple[float, str]]] = {
    Shape.DISH: _dish,
    Shape.V_GROOVE: _v_groove,
    Shape.LAYER: _layer,
    Shape.BLOCK: _block,
    Shape.BEAD: _bead,
}
"""Volume of one damage in mm³, and how it was reckoned."""


def _rod(figures: Figures, stage: str, spot: Spot, depth_mm: float) -> Take:
    """Rod whose volume fills the groove."""
    volume_mm3, told = _v_groove(figures, spot, depth_mm, 1.0)
    rod_mm = figures["rod_mm"]
    length_mm = spot.count * volume_mm3 / (pi * rod_mm * rod_mm / 4)
    return Take(strips=(Strip(stage, 1, _up(length_mm), None),), told=f"rod of {rod_mm:g} mm into {told}")


def _strips(figures: Figures, stage: str, spot: Spot, layers: int) -> Take:
    """One strip a layer and damage, each layer larger than the one before."""
    length_mm = spot.length_mm + 2 * figures["beyond_mm"]
    width_mm = spot.width_mm + 2 * figures["across_mm"]
    count = ceil(spot.count)
    strips = tuple(
        Strip(stage, count, _up(length_mm + larger_mm), _up(width_mm + larger_mm))
        for larger_mm in (layer * figures["larger_each_mm"] for layer in range(layers))
    )
    told = f"{figures['beyond_mm']:g} mm beyond both ends, {figures['across_mm']:g} mm to each side"
    return Take(strips=strips, told=f"{layers} {'layers' if layers > 1 else 'layer'}, {told}")


def _pieces(figures: Figures, spot: Spot) -> Take:
    along = figures["per_dm"] * spot.length_mm / MM_PER_DM
    return Take(pieces=figures["fixed"] + spot.count * (figures["per_damage"] + along))


def _size(spot: Spot) -> str:
    if spot.width_mm:
        return f"{spot.length_mm:g} x {spot.width_mm:g} mm"
    return f"{spot.length_mm:g} mm long"


def _up(length_mm: float) -> int:
    return ceil(round(length_mm, 6))
