"""What the labour of a procedure costs, beside the price of a replacement part."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from planning.costs.model import Cost, Rates


def cost(labour_hours: Mapping[str, float], rates: Rates) -> Cost:
    """Hours x rate by category, in hundredths; `not_included` names what the total leaves out."""
    labour = {
        category: _money(Decimal(str(hours)) * rates.labour_per_hour[category])
        for category, hours in labour_hours.items()
        if category in rates.labour_per_hour
    }
    return Cost(
        currency=rates.currency,
        labour=labour,
        labour_total=sum(labour.values(), Decimal("0.00")),
        replacement_part=rates.replacement_part,
        replacement_lead_days=rates.replacement_lead_days,
        not_included=_not_included(labour_hours, rates),
    )


def _not_included(labour_hours: Mapping[str, float], rates: Rates) -> tuple[str, ...]:
    without_rate = [category for category in labour_hours if category not in rates.labour_per_hour]
    return (
        "materials",
        *(["fitting of the replacement part"] if rates.replacement_part is not None else []),
        *(f"{category} labour: {labour_hours[category]:g} h without a rate" for category in without_rate),
    )


def _money(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
