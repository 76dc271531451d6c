"""What can hurt the person who does the work."""

from __future__ import annotations

from typing import Any

from planning.model import AskedCaution
from rules.pack import Caution
from schemas.answers import (
    Answer,
    text,
    texts,
)

SIGNALS = ("danger", "warning", "notice")
Document = dict[str, Any]


class CautionAsked(Answer):
    caution = text("The caution's name in the catalogue.")
    title = text("The caution in a few words.")
    signal = text("How grave it is.", enum=[*SIGNALS])
    hazard = text("What can hurt the person who does the work.")
    protect = text("What protects.")
    first_measure = text("What to do first when it has happened.")
    defer = text("What prevails over this caution.")
    ghs = texts("Hazard statement codes of the Globally Harmonized System.")
    stages = texts("The stages that carry it; empty: the whole job.")
    because = texts(
        "The rules that asked for it, or `jurisdiction` and its id; empty: the stages themselves carry it."
    )


def caution_members(caution: Caution) -> Document:
    """What the catalogue says of a caution, without its source."""
    return {
        "caution": caution.id,
        "title": caution.title,
        "signal": caution.signal,
        "hazard": caution.hazard,
        "protect": caution.protect,
        "first_measure": caution.first_measure,
        "defer": caution.defer,
        "ghs": list(caution.ghs),
    }


def caution_document(asked: AskedCaution) -> Document:
    return caution_members(asked.caution) | {"stages": list(asked.stages), "because": list(asked.because)}
