"""What a procedure sets free."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Emissions:
    """Volatile organic compounds as applied, in grams, total convention (nothing subtracted)."""

    jurisdiction: str | None
    voc_total_g: Decimal
    convention: str
    limits: str
