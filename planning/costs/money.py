"""Money: decimal, in the smallest unit of its currency, rounded half up."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from iso4217 import Currency


class CurrencyUnknown(ValueError):
    """No currency of ISO 4217 in which prices are written."""


@cache
def minor_digits(currency: str) -> int:
    """The decimal places of a currency: JPY 0, USD 2, TND 3. Raises CurrencyUnknown.

    Source: ISO 4217, table A.1, as its maintenance agency publishes it; what has no minor unit there, such
    as gold, is no currency of prices.
    """
    try:
        digits = Currency(currency).exponent
    except ValueError:
        digits = None
    if digits is None:
        raise CurrencyUnknown(f"'{currency}' is no currency of ISO 4217 that prices are written in")
    return digits


@cache
def currencies() -> tuple[str, ...]:
    """The codes of all currencies that prices are written in."""
    return tuple(sorted(each.code for each in Currency if each.exponent is not None))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """The amount in whole minor units, half of one rounded up (away from zero)."""
    return amount.quantize(_unit(currency), ROUND_HALF_UP)


@cache
def _unit(currency: str) -> Decimal:
    return Decimal(1).scaleb(-minor_digits(currency))


def rounding(currency: str) -> str:
    """How amounts are rounded, in words."""
    digits = minor_digits(currency)
    places = {0: "whole units", 1: "1 decimal"}.get(digits, f"{digits} decimals")
    return (
        f"Every amount is rounded half up to {places} of {currency} (ISO 4217); totals add what is rounded."
    )
