"""The abrasive grades that a pack may name."""

from __future__ import annotations

_P_NUMBERS = (
    # ISO 6344-2:2021, macrogrits.
    *(12, 16, 20, 24, 30, 36, 40, 50, 60, 80, 100, 120, 150, 180, 220),
    # ISO 6344-3:2021, microgrits.
    *(240, 280, 320, 360, 400, 500, 600, 800, 1000, 1200, 1500, 2000, 2500, 3000, 5000),
)

P_GRADES = tuple(f"P{number}" for number in _P_NUMBERS)
"""Coarsest first."""
