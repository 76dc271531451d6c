"""The three-point estimates of PERT: what their usual formulas say, and what they do not."""

from __future__ import annotations

import numpy as np
import pytest
from critical_paths import critical_path

# D. G. Malcolm, J. H. Roseboom, C. E. Clark and W. Fazar, Operations Research 7 (1959) 646-669, give the mean
# (a + 4m + b) / 6 and the variance ((b - a) / 6)²; the encyclopedia article on PERT prints both. The
# variance of the beta distribution with that mean, (mean - a)(b - mean) / 7, was computed apart from this
# project and agrees with the Python package betapert 0.1.5.
ESTIMATES = [((2, 4, 6), 0.4444, 0.5714), ((3, 5, 9), 1.0, 1.2222), ((5, 8, 17), 4.0, 4.5714)]


def mean_of(lowest, likeliest, highest):
    return (lowest + 4 * likeliest + highest) / 6


def beta_moments(lowest, likeliest, highest):
    """Mean and variance of the beta-PERT density, by the midpoint rule."""
    span = highest - lowest
    rising, falling = 4 * (likeliest - lowest) / span, 4 * (highest - likeliest) / span
    at = (np.arange(200_000) + 0.5) / 200_000
    density = at**rising * (1 - at) ** falling
    mean = (at * density).sum() / density.sum()
    variance = ((at - mean) ** 2 * density).sum() / density.sum()
    return lowest + span * mean, span**2 * variance


@pytest.mark.parametrize(("estimate", "usual", "beta"), ESTIMATES)
def test_the_usual_variance_is_not_that_of_the_beta_distribution(estimate, usual, beta):
    mean, variance = beta_moments(*estimate)
    assert mean == pytest.approx(mean_of(*estimate), abs=1e-6)
    assert ((estimate[2] - estimate[0]) / 6) ** 2 == pytest.approx(usual, abs=1e-4)
    assert (mean - estimate[0]) * (estimate[2] - mean) / 7 == pytest.approx(beta, abs=1e-4)
    assert variance == pytest.approx(beta, abs=1e-4)
    assert variance > 1.1 * usual


def test_the_mean_path_of_the_encyclopedia_example():
    """Encyclopedia article on PERT, its estimates from memory: 19.5, not 19.51 of rounded means."""
    estimates = {
        "a": ((2, 4, 6), ()),
        "b": ((3, 5, 9), ()),
        "c": ((4, 5, 7), ("a",)),
        "d": ((4, 6, 10), ("a",)),
        "e": ((4, 5, 7), ("b", "c")),
        "f": ((3, 4, 8), ("d",)),
        "g": ((3, 5, 8), ("e",)),
    }
    length, slacks = critical_path({name: (mean_of(*of), after) for name, (of, after) in estimates.items()})
    assert length == pytest.approx(19.5)
    assert [name for name, slack in slacks.items() if slack == pytest.approx(0)] == ["a", "c", "e", "g"]
