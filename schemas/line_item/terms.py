"""What a line item says to planning, beside its facts."""

from __future__ import annotations

from planning.costs.model import Charged, Rates
from planning.model import Terms
from schemas.line_item.body import Body
from schemas.line_item.calendar import calendar_of


def terms_of(body: Body) -> Terms:
    """What a line item says beside its facts."""
    rates = body.get("rates")
    return Terms(
        start_at=body.get("start_at"),
        jurisdiction=body.get("jurisdiction"),
        calendar=calendar_of(body.get("calendar")),
        rates=None if rates is None else _rates(rates),
    )


def _rates(given: Body) -> Rates:
    """Null is the same as left out."""
    stated = {name: value for name, value in given.items() if value is not None}
    if "materials_charged" in stated:
        stated["materials_charged"] = Charged(stated["materials_charged"])
    return Rates(**stated)
