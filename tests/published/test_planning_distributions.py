"""Quantiles and sums of lognormal durations against tables and exact results."""

from __future__ import annotations

from math import exp, log, sqrt

import numpy as np
import pytest

from planning.timing.durations import WorkTime
from planning.timing.sampling import work_samples

# Standard normal table, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1 (from memory):
# the area below 0.84 is 0.79955, below 0.85 0.80234; below 1.64 0.94950, below 1.65 0.95053.
Z_80 = 0.84 + 0.01 * (0.80 - 0.79955) / (0.80234 - 0.79955)
Z_95 = 1.64 + 0.01 * (0.95 - 0.94950) / (0.95053 - 0.94950)


@pytest.mark.parametrize("spread", [0.15, 0.25, 0.5])
def test_quantiles_of_work_follow_the_normal_table(spread):
    found = WorkTime(1000.0, spread).quantiles()
    assert found.p50 == 1000
    assert found.p80 == pytest.approx(1000 * exp(spread * Z_80), rel=2e-4)
    assert found.p95 == pytest.approx(1000 * exp(spread * Z_95), rel=2e-4)


def test_mean_and_variance_of_sampled_work_are_those_of_the_distribution():
    """NIST/SEMATECH e-Handbook, 1.3.6.6.9: mean m exp(s²/2), standard deviation mean sqrt(exp(s²) - 1)."""
    medians, spreads = np.array([10.0, 25.0, 40.0]), np.array([0.2, 0.3, 0.25])
    means = medians * np.exp(spreads**2 / 2)
    variances = means**2 * (np.exp(spreads**2) - 1)
    times = [WorkTime(*each) for each in zip(medians.tolist(), spreads.tolist(), strict=True)]
    total = work_samples(times).sum(axis=0)
    assert total.mean() == pytest.approx(means.sum(), rel=1e-3)
    assert total.std() == pytest.approx(sqrt(variances.sum()), rel=0.03)


def test_quantiles_of_a_sum_are_near_those_of_the_lognormal_of_equal_moments():
    """L. F. Fenton, IRE Trans. Commun. Syst. 8 (1960) 57-67: a sum of lognormals is nearly lognormal."""
    medians, spread = [30.0] * 6, 0.3
    mean = sum(medians) * exp(spread**2 / 2)
    variance = sum(median**2 for median in medians) * exp(spread**2) * (exp(spread**2) - 1)
    joint = sqrt(log(1 + variance / mean**2))
    total = work_samples([WorkTime(median, spread) for median in medians]).sum(axis=0)
    for level, z in ((0.5, 0.0), (0.8, Z_80), (0.95, Z_95)):
        expected = mean / sqrt(1 + variance / mean**2) * exp(joint * z)
        assert np.quantile(total, level) == pytest.approx(expected, rel=0.01)
