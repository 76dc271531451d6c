"""What a procedure sets free."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.emissions.model import Emissions
from schemas.answers import (
    Answer,
    decimal,
    text,
)
from schemas.figures import decimal as decimal_text

Document = dict[str, Any]


class EmissionsGiven(Answer):
    jurisdiction = text("The jurisdiction that was given.", null=True)
    voc_total_g = decimal("Volatile organic compounds as applied, in grams.")
    convention = text("How the figure was reckoned.")
    limits = text("What is said of legal limits.")


def emissions_document(emissions: Emissions) -> Document:
    return {**asdict(emissions), "voc_total_g": decimal_text(emissions.voc_total_g)}
