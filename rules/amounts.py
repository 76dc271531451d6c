"""How much of a material a stage takes, by the shape that it is given, and what of it is lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum


class Role(Enum):
    """What a component is in a mix, in the order in which components go in.

    Flexible additive goes in before reducer: in reduced material it does not spread evenly.
    """

    BASE = "base"
    ADDITIVE = "additive"
    HARDENER = "hardener"
    REDUCER = "reducer"


MIXING_ORDER = tuple(role.value for role in Role)


class Shape(Enum):
    """What a material is made into at the damage; `FIGURES` says which figures each needs.

    A dish fills the tapered groove and stands proud of it; a V groove is filled with material or, where
    `rod_mm` is stated, with rod of that diameter. A layer covers the damage and what lies around it, a
    block is built up from the edge along the damage, a bead has a section, a strip is cut to size, and
    pieces are counted.
    """

    DISH = "dish"
    V_GROOVE = "v_groove"
    LAYER = "layer"
    BLOCK = "block"
    BEAD = "bead"
    STRIP = "strip"
    PIECES = "pieces"


FIGURES: Mapping[Shape, Mapping[str, float | None]] = {
    Shape.DISH: {"taper_mm": None, "overfill_mm": 0, "run_out_mm": 0, "least_depth_mm": 0},
    Shape.V_GROOVE: {"angle_deg": None, "beyond_mm": 0, "proud_mm": 0, "rod_mm": 0},
    Shape.LAYER: {"beyond_mm": None, "thickness_mm": None, "each_layer_mm": 0},
    Shape.BLOCK: {"out_mm": None, "thicker_pct": 0},
    Shape.BEAD: {"section_mm2": None, "fixed_mm": 0, "along_pct": 0},
    Shape.STRIP: {"beyond_mm": None, "across_mm": None, "layers": 1, "larger_each_mm": 0},
    Shape.PIECES: {"fixed": 0, "per_damage": 0, "per_dm": 0},
}
"""The figures of each shape with the value that one has where it is left out; None: it must be there."""


@dataclass(frozen=True)
class Amount:
    """What a stage takes of a material each time; `grade` is of an abrasive other than the stage's."""

    material: str
    shape: Shape
    figures: Mapping[str, float] = field(default_factory=dict)
    grade: str | None = None


@dataclass(frozen=True)
class Loss:
    """What does not get onto the part, once in each stage: `ml`, and `pct` of what does."""

    what: str
    source: str
    ml: float = 0.0
    pct: float = 0.0
