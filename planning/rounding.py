"""Rounding of figures for people: tenths of a minute, a degree or an hour."""

from __future__ import annotations

from decimal import Decimal
from math import ceil, floor


def tenth(value: float) -> float:
    """The nearest tenth."""
    return round(value, 1) + 0.0


def tenth_up(value: float) -> float:
    """The next tenth at or above `value`, blind to what floating point adds in the last places."""
    return ceil(round(value * 10, 6)) / 10


def tenth_down(value: float) -> float:
    """The next tenth at or below `value`, likewise."""
    return floor(round(value * 10, 6)) / 10


def tenths_decimal(tenths: int) -> Decimal:
    """A whole number of tenths as a decimal with one place."""
    return Decimal(tenths).scaleb(-1)
