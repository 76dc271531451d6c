"""What is known of the place of work."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PlaceReport:
    """Dew point, and how far the surface is above it (None: not known), for the stages that coat.

    `warning` says what to do when the margin is too small for coating, None when it is not.
    """

    stages: tuple[str, ...]
    dew_point_c: float
    surface_margin_k: float | None
    warning: str | None
