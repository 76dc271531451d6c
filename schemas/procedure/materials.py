"""What a procedure uses."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.materials.model import MaterialNeed
from schemas.answers import (
    Answer,
    decimal,
    text,
    texts,
)
from schemas.figures import decimal as decimal_text

Document = dict[str, Any]


class MaterialNeeded(Answer):
    material = text("The material class's name.")
    title = text("What it is.")
    kind = text("Coating, filler, cleaner or consumable.")
    stages = texts("The stages that use it.")
    quantity_ml = decimal("How much, in millilitres, ready to use; null: not reckoned.", null=True)
    basis = text("How the quantity was reckoned.")


def material_document(need: MaterialNeed) -> Document:
    return {**asdict(need), "stages": list(need.stages), "quantity_ml": decimal_text(need.quantity_ml)}
