"""Money in the smallest unit of its currency."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.costs.money import CurrencyUnknown, currencies, minor_digits, rounded, rounding


def test_half_of_the_smallest_unit_is_rounded_up():
    assert rounded(Decimal("1.005"), "USD") == Decimal("1.01")
    assert rounded(Decimal("1.015"), "USD") == Decimal("1.02")
    assert rounded(Decimal("1.0049"), "USD") == Decimal("1.00")
    assert rounded(Decimal("100.5"), "JPY") == Decimal("101")
    assert rounded(Decimal("0.0005"), "KWD") == Decimal("0.001")


def test_what_is_no_currency_of_prices_is_refused():
    for code in ("XAU", "XXX", "ABC", "usd", "$"):
        with pytest.raises(CurrencyUnknown, match="is no currency of ISO 4217"):
            minor_digits(code)


def test_the_rounding_is_told_in_words():
    assert "half up to 2 decimals of EUR" in rounding("EUR")
    assert "half up to whole units of JPY" in rounding("JPY")
    assert "half up to 3 decimals of TND" in rounding("TND")


@given(st.sampled_from(currencies()), st.decimals(-(10**9), 10**9, allow_nan=False, places=6))
def test_an_amount_moves_by_half_of_the_smallest_unit_at_most(currency, amount):
    unit = Decimal(1).scaleb(-minor_digits(currency))
    money = rounded(amount, currency)
    assert money % unit == 0
    assert money.as_tuple().exponent == -minor_digits(currency)
    assert abs(money - amount) <= unit / 2
    assert rounded(money, currency) == money
