"""The kinds of change that are tried on a pack."""

from __future__ import annotations

from enum import Enum


class Kind(Enum):
    """One kind of change to one rule."""

    FLIP_CONDITION = "flip a condition"
    DROP_CONDITION = "drop a condition"
    MOVE_CUT_POINT = "move a cut point to its neighbour"
    CHANGE_VALUE = "change a value in a condition"
    DROP_EFFECT = "drop an effect"
    CHANGE_EFFECT = "change the value of an effect"
