"""Quantiles of Student's t distribution, for any number of degrees of freedom above 0."""

from __future__ import annotations

from functools import lru_cache
from math import exp, isinf, lgamma, log, log1p
from statistics import NormalDist

_TINY = 1e-300
_TERMS = 10_000


@lru_cache(maxsize=4096)
def student_quantile(level: float, degrees: float) -> float:
    """The value that a t variable stays under with probability `level`, between 0 and 1.

    Infinite `degrees`: the quantile of the standard normal distribution. Raises ValueError for others.
    """
    if not (0 < level < 1 and degrees > 0):
        raise ValueError(f"there is no quantile {level} of t with {degrees} degrees of freedom")
    if isinf(degrees):
        return NormalDist().inv_cdf(level)
    if level < 0.5:
        return -student_quantile(1 - level, degrees)
    below, above = 0.0, 1.0
    while student_probability(above, degrees) < level:
        below, above = above, 2 * above
    return _between(level, degrees, below, above)


def student_probability(value: float, degrees: float) -> float:
    """The probability of a t variable to stay under `value`.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1 and 26.5.27: half the incomplete beta
    function of degrees / (degrees + value²) lies in either tail.
    """
    if isinf(value):
        return 1.0 if value > 0 else 0.0
    tail = 0.5 * _incomplete_beta(value * value, degrees)
    return 1.0 - tail if value > 0 else tail


def _between(level: float, degrees: float, below: float, above: float) -> float:
    """Halving, until two neighbouring numbers are left."""
    while True:
        middle = (below + above) / 2
        if middle in (below, above):
            return middle
        if student_probability(middle, degrees) < level:
            below = middle
        else:
            above = middle


def _incomplete_beta(square: float, degrees: float) -> float:
    """I_x(degrees / 2, 1 / 2) at x = degrees / (degrees + square)."""
    a, b = degrees / 2, 0.5
    x, rest = degrees / (degrees + square), square / (degrees + square)
    if rest == 0.0:
        return 1.0
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) - a * log1p(square / degrees) + b * log(rest))
    # The fraction converges fast on one side of the mean only; on the other the mirrored one does.
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(x, a, b) / a
    return 1.0 - front * _fraction(rest, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function, by the modified method of Lentz.

    NIST Digital Library of Mathematical Functions, 8.17.22 and 3.10(iii).
    """
    value, upper, lower = _TINY, _TINY, 0.0
    for term in range(_TERMS):
        factor = 1.0 if term == 0 else _coefficient(term, x, a, b)
        lower = 1.0 / ((1.0 + factor * lower) or _TINY)
        upper = (1.0 + factor / upper) or _TINY
        step = upper * lower
        value *= step
        if abs(step - 1.0) < 1e-15:
            return value
    raise ArithmeticError(f"the incomplete beta function does not converge at {x}, {a}, {b}")


def _coefficient(term: int, x: float, a: float, b: float) -> float:
    m = term // 2
    if term % 2:
        return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
    return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
