"""Whether the place allows coating."""

from __future__ import annotations

from typing import Any

from planning.place.model import PlaceReport
from schemas.answers import (
    Answer,
    number,
    text,
    texts,
)
from schemas.figures import tenth

Document = dict[str, Any]


class PlaceGiven(Answer):
    stages = texts("The stages that coat, for which this matters.")
    dew_point_c = number("Dew point of the air, in degrees Celsius.")
    surface_margin_k = number("How far the surface is above the dew point, in kelvin.", null=True)
    warning = text("What to do when the margin is too small.", null=True)


def place_document(place: PlaceReport) -> Document:
    margin = place.surface_margin_k
    return {
        "stages": list(place.stages),
        "dew_point_c": tenth(place.dew_point_c),
        "surface_margin_k": None if margin is None else tenth(margin),
        "warning": place.warning,
    }
