"""What a procedure costs."""

from __future__ import annotations

from typing import Any

from planning.costs.model import Cost
from schemas.answers import (
    Answer,
    decimal,
    table,
    text,
    texts,
    whole,
)
from schemas.figures import decimal as decimal_text

Document = dict[str, Any]


class CostGiven(Answer):
    currency = text("ISO 4217 code.")
    labour = table(decimal("Money."), "Labour by category.")
    labour_total = decimal("All labour.")
    replacement_part = decimal("The price of a new part, as given.", null=True)
    replacement_lead_days = whole("Days until a new part arrives, as given.", null=True)
    not_included = texts("What the total leaves out.")


def cost_document(cost: Cost) -> Document:
    return {
        "currency": cost.currency,
        "labour": {category: decimal_text(amount) for category, amount in cost.labour.items()},
        "labour_total": decimal_text(cost.labour_total),
        "replacement_part": decimal_text(cost.replacement_part),
        "replacement_lead_days": cost.replacement_lead_days,
        "not_included": list(cost.not_included),
    }
