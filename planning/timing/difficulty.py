"""How much longer work takes than on a flat, smooth face away from every edge."""

from __future__ import annotations

from collections.abc import Mapping


def difficulty(harder: Mapping[str, Mapping[str, float]], said: Mapping[str, str | bool]) -> float:
    """The product of the factors, each 1 or more, that hold for the facts of a line item.

    A fact that is not among `said` is taken at its hardest, so that a bound on the work of any line
    item is found with the facts left out.
    """
    product = 1.0
    for fact, factors in harder.items():
        product *= _factor(factors, said.get(fact))
    return product


def _factor(factors: Mapping[str, float], value: str | bool | None) -> float:
    if value is None:
        return max(factors.values(), default=1.0)
    return factors.get("true" if value is True else str(value), 1.0)
