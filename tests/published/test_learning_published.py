"""The conjugate update and Student's t against textbooks and tables."""

from __future__ import annotations

from math import atan, pi, sqrt
from statistics import mean, stdev

import pytest

from planning.learning.posterior import REFERENCE, Belief, sums_of, updated
from planning.student import student_probability, student_quantile

# P. D. Hoff, A First Course in Bayesian Statistical Methods (2009), section 5.3: wing lengths of nine midges
# in millimetres; the prior is worth one observation, mean 1.9, variance 0.01.
MIDGES = (1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08)
MIDGE_PRIOR = Belief(mean=1.9, kappa=1.0, nu=1.0, variance=0.01)

# S. Newcomb's measurements of the passage time of light, as deviations from 24 800 ns, as A. Gelman et al.,
# Bayesian Data Analysis, use them; the single values after S. M. Stigler, Annals of Statistics 5 (1977)
# 1055-1098, from memory, held to the mean and the standard deviation that are printed.
NEWCOMB = (
    *(28, 26, 33, 24, 34, -44, 27, 16, 40, -2, 29, 22, 24, 21, 25, 30, 23, 29, 31, 19, 24, 20),
    *(36, 32, 36, 28, 25, 21, 28, 29, 37, 25, 28, 26, 30, 32, 36, 26, 30, 22, 36, 23, 27, 27),
    *(28, 27, 31, 27, 26, 33, 26, 32, 32, 24, 39, 28, 24, 25, 32, 25, 29, 27, 28, 29, 16, 23),
)


def of_mean(belief: Belief, level: float) -> float:
    """A quantile of the mean: Student t with scale sqrt(variance / kappa); Murphy (2007), section 6.3."""
    scale = sqrt(belief.variance / belief.kappa)
    return belief.mean + scale * student_quantile(level, belief.nu)


def of_next(belief: Belief, level: float) -> float:
    """A quantile of the next observation; Murphy (2007), section 6.5."""
    return belief.mean + belief.scale * student_quantile(level, belief.nu)


def test_the_wing_lengths_of_midges() -> None:
    belief = updated(MIDGE_PRIOR, sums_of(MIDGES))
    assert belief.mean == pytest.approx(1.814, abs=5e-4)
    assert (belief.kappa, belief.nu) == (10, 10)
    # The book prints 0.015; the further digits are computed from its formula.
    assert belief.variance == pytest.approx(0.015324, abs=5e-7)
    assert belief.nu * belief.variance / (belief.nu - 2) == pytest.approx(0.019155, abs=5e-7)
    assert of_mean(belief, 0.025) == pytest.approx(1.7268, abs=5e-5)
    assert of_mean(belief, 0.975) == pytest.approx(1.9012, abs=5e-5)
    assert of_next(belief, 0.025) == pytest.approx(1.5247, abs=5e-5)
    assert of_next(belief, 0.975) == pytest.approx(2.1033, abs=5e-5)


def test_the_light_data_under_the_reference_prior() -> None:
    # The book prints the standard deviation as 10.8.
    assert (len(NEWCOMB), round(mean(NEWCOMB), 4), round(stdev(NEWCOMB), 4)) == (66, 26.2121, 10.7453)
    belief = updated(REFERENCE, sums_of(NEWCOMB))
    assert (belief.kappa, belief.nu) == (66, 65)
    assert sqrt(belief.variance) == pytest.approx(stdev(NEWCOMB))
    assert of_mean(belief, 0.025) == pytest.approx(23.6, abs=0.05)
    # The book prints 28.8, from rounded figures; unrounded it is 28.854.
    assert of_mean(belief, 0.975) == pytest.approx(28.854, abs=5e-4)
    assert of_next(belief, 0.025) == pytest.approx(4.590, abs=5e-4)
    assert of_next(belief, 0.975) == pytest.approx(47.834, abs=5e-4)


# NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t (from memory).
@pytest.mark.parametrize(
    ("level", "degrees", "value"),
    [
        (0.90, 1, 3.078),
        (0.975, 1, 12.706),
        (0.90, 2, 1.886),
        (0.95, 3, 2.353),
        (0.975, 5, 2.571),
        (0.99, 10, 2.764),
        (0.995, 20, 2.845),
        (0.999, 30, 3.385),
        (0.975, 60, 2.000),
        (0.95, 100, 1.660),
        (0.95, float("inf"), 1.645),
    ],
)
def test_quantiles_of_t_are_those_of_the_table(level: float, degrees: float, value: float) -> None:
    assert student_quantile(level, degrees) == pytest.approx(value, abs=6e-4)
    assert student_quantile(1 - level, degrees) == pytest.approx(-value, abs=6e-4)


@pytest.mark.parametrize("value", [-2.5, -0.3, 0.0, 0.7, 4.0])
def test_closed_forms_of_the_distribution_of_t(value: float) -> None:
    """Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4, for 1 and 2 degrees."""
    assert student_probability(value, 1) == pytest.approx(0.5 + atan(value) / pi, abs=1e-13)
    two = 0.5 + value / (2 * sqrt(2 + value * value))
    assert student_probability(value, 2) == pytest.approx(two, abs=1e-13)
