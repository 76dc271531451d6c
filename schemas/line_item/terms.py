"""What a line item says to planning, beside its facts."""

from __future__ import annotations

from planning.costs.model import Rates
from planning.model import Terms
from schemas.line_item.body import Body


def terms_of(body: Body) -> Terms:
    """What a line item says beside its facts."""
    rates = body.get("rates")
    return Terms(
        start_at=body.get("start_at"),
        jurisdiction=body.get("jurisdiction"),
        rates=None if rates is None else Rates(**rates),
    )
