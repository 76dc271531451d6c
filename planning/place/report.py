"""Whether the place of work allows what the stages of a procedure apply."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planning.place.air import Air, courses
from planning.place.holds import Applied, holds_of
from planning.place.model import PlaceReport
from planning.rounding import tenth, tenth_down
from rules.pack import Material, Stage


def place_report(
    air: Air, order: Sequence[str], stages: Mapping[str, Stage], materials: Mapping[str, Material]
) -> PlaceReport | None:
    """The place as it is found, in `air`, and what of it holds stages back; `order` is the working order.

    None where no stage applies a material that asks for a place, or nothing of the place is known.
    """
    applied = _applied(order, stages, materials)
    if not applied or not air.values:
        return None
    holds = holds_of(applied, courses(order, stages, air), stages)
    dew_c, margin_k = air.dew_c, air.margin_k
    return PlaceReport(
        stages=tuple(dict.fromkeys(stage for stage, _, _ in applied)),
        dew_point_c=None if dew_c is None else tenth(dew_c),
        surface_margin_k=None if margin_k is None else tenth_down(margin_k),
        holds=holds,
        warning=" ".join(dict.fromkeys(hold.told for hold in holds if hold.mended_by is None)) or None,
    )


def _applied(
    order: Sequence[str], stages: Mapping[str, Stage], materials: Mapping[str, Material]
) -> list[Applied]:
    return [
        (stage, material, application)
        for stage in order
        for material in stages[stage].materials
        if (application := materials[material].application) is not None
    ]
