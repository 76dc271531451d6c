"""How figures and moments are written on the wire."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from planning.timing.model import Quantiles


def tenth(value: float) -> float:
    """A number to a tenth, without a needless fraction."""
    rounded = round(value, 1) + 0.0
    return int(rounded) if rounded.is_integer() else rounded


def plain(value: Any) -> Any:
    """A fact or parameter as JSON; 2.0 is written 2."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def plain_values(values: Mapping[str, Any]) -> dict[str, Any]:
    """Facts or parameters as JSON, sorted by name."""
    return {name: plain(values[name]) for name in sorted(values)}


def decimal(value: Decimal | None) -> str | None:
    """A decimal string, never with an exponent."""
    return None if value is None else format(value, "f")


def moment(value: datetime | None) -> str | None:
    """RFC 3339 with offset."""
    return None if value is None else value.isoformat()


def quantiles(value: Quantiles) -> dict[str, float]:
    """Minutes that half, 80 % and 95 % of jobs stay under."""
    return {"p50": tenth(value.p50), "p80": tenth(value.p80), "p95": tenth(value.p95)}
