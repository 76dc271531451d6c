"""Whether the place allows what is applied."""

from __future__ import annotations

from typing import Any

from planning.place.model import Hold, Measure, PlaceReport
from schemas.answers import (
    Answer,
    many,
    number,
    text,
    texts,
    truth,
)
from schemas.figures import plain, tenth

Document = dict[str, Any]


class HoldGiven(Answer):
    measure = text("What is outside a bound.", enum=[measure.value for measure in Measure])
    value = number("Its value, in degrees Celsius, per cent or kelvin as the measure is.")
    at_least = number("The lowest value that is good; null where the bound is the highest.", null=True)
    at_most = number("The highest value that is good; null where the bound is the lowest.", null=True)
    expected = truth("Whether the value is what a stage leaves behind; false: it is the one that was given.")
    stages = texts("The stages that apply what asks for this place.")
    materials = texts("What they apply, by name in `materials`.")
    mended_by = text(
        "The stage that mends it before; null: none does, and the stages are held until somebody has.",
        null=True,
    )
    told = text("What is wrong and what to do.")
    source = text("Where the bound comes from.")


class PlaceGiven(Answer):
    stages = texts("The stages that apply what asks for a certain place.")
    dew_point_c = number("Dew point of the air, in degrees Celsius; null where there is none.", null=True)
    surface_margin_k = number("How far the surface is above the dew point, in kelvin.", null=True)
    holds = many(HoldGiven, "Every bound of a material that the place does not keep.")
    warning = text("What to mend before the held stages are begun; null: nothing.", null=True)


def place_document(place: PlaceReport) -> Document:
    dew_c, margin_k = place.dew_point_c, place.surface_margin_k
    return {
        "stages": list(place.stages),
        "dew_point_c": None if dew_c is None else tenth(dew_c),
        "surface_margin_k": None if margin_k is None else tenth(margin_k),
        "holds": [_hold(hold) for hold in place.holds],
        "warning": place.warning,
    }


def _hold(hold: Hold) -> Document:
    return {
        "measure": hold.measure.value,
        "value": tenth(hold.value),
        "at_least": plain(hold.at_least),
        "at_most": plain(hold.at_most),
        "expected": hold.expected,
        "stages": list(hold.stages),
        "materials": list(hold.materials),
        "mended_by": hold.mended_by,
        "told": hold.told,
        "source": hold.source,
    }
