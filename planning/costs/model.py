"""What a procedure costs, and what the shop charges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Cost:
    """Labour at the given rates against the given replacement price; None where not given."""

    currency: str
    labour: Mapping[str, Decimal]
    labour_total: Decimal
    replacement_part: Decimal | None
    replacement_lead_days: int | None
    not_included: tuple[str, ...]


@dataclass(frozen=True)
class Rates:
    """What the shop charges: money per hour by labour category, and the price of a new part."""

    currency: str
    labour_per_hour: Mapping[str, Decimal]
    replacement_part: Decimal | None = None
    replacement_lead_days: int | None = None
