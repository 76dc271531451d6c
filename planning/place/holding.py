"""Which stages the place holds back."""

from __future__ import annotations

from collections.abc import Sequence

from planning.place.model import PlaceReport


def held_back(place: PlaceReport | None, order: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """What has to be mended before a stage is begun, by stage, for those that are held; in working order."""
    if place is None or place.warning is None:
        return {}
    held = {stage: place.held(stage) for stage in order}
    return {stage: told for stage, told in held.items() if told}
