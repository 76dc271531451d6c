"""Money and the spread of costs against what is published."""

from __future__ import annotations

from decimal import Decimal
from math import erf, exp, log, sqrt
from pathlib import Path

import numpy as np
import pytest
import yaml

from planning.costs.comparing import compared
from planning.costs.model import Alternative
from planning.costs.money import currencies, minor_digits
from planning.costs.sampling import PaidWork, labour_samples
from planning.timing.durations import WorkTime
from planning.timing.model import Quantiles

CURRENCIES = yaml.safe_load((Path(__file__).parent / "data" / "currencies.yaml").read_text(encoding="utf-8"))

# Invented works: median minutes, spread, rate. A repair, and what is done to a new part.
REPAIR = [(12.0, 0.3, 62), (25.0, 0.4, 62), (40.0, 0.25, 70), (9.5, 0.6, 70), (30.0, 0.35, 62)]
NEW_PART = [(10.0, 0.3, 62), (35.0, 0.2, 70), (72.0, 0.25, 62)]


@pytest.mark.parametrize("transcription", CURRENCIES["transcriptions"], ids=lambda each: each["source"][:40])
def test_decimal_places_of_currencies(transcription: dict) -> None:
    # Source: each transcription of ISO 4217 in data/currencies.yaml.
    for code, places in transcription["places"].items():
        assert minor_digits(code) == places, code
    if "all_others" in transcription:
        others = set(currencies()) - transcription["places"].keys()
        assert {minor_digits(code) for code in others} == {transcription["all_others"]}
        assert len(others) > 100


def paid(works: list) -> list[PaidWork]:
    return [PaidWork(WorkTime(median, spread), Decimal(rate)) for median, spread, rate in works]


def mean_and_variance(works: list) -> tuple[float, float]:
    """Of a sum of independent lognormals: sums of the means and variances."""
    means = [rate / 60 * median * exp(spread**2 / 2) for median, spread, rate in works]
    variances = [mean**2 * (exp(spread**2) - 1) for mean, (_, spread, _) in zip(means, works, strict=True)]
    return sum(means), sum(variances)


def test_labour_has_the_mean_of_a_sum_of_lognormals() -> None:
    """Mean exp(mu + sigma^2 / 2) a work, variance (exp(sigma^2) - 1) exp(2 mu + sigma^2).

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.9 (mean and standard deviation). Four
    standard errors of a plain sample are allowed; a stratified one is nearer.
    """
    for works, samples in zip((REPAIR, NEW_PART), labour_samples(paid(REPAIR), paid(NEW_PART)), strict=True):
        mean, variance = mean_and_variance(works)
        assert samples.mean() == pytest.approx(mean, abs=4 * sqrt(variance / samples.size))
        assert samples.var() == pytest.approx(variance, rel=0.15)


def test_the_works_of_the_two_alternatives_are_independent() -> None:
    """A difference of independent quantities has the sum of their variances.

    Source: common practice of statistics, from memory.
    """
    repair, new_part = labour_samples(paid(REPAIR), paid(NEW_PART))
    expected = mean_and_variance(REPAIR)[1] + mean_and_variance(NEW_PART)[1]
    assert (repair - new_part).var() == pytest.approx(expected, rel=0.15)
    assert abs(np.corrcoef(repair, new_part)[0, 1]) < 4 / sqrt(repair.size)


@pytest.mark.parametrize(
    ("repair", "new_part"),
    [
        ((60.0, 0.3, 60), (60.0, 0.3, 60)),
        ((60.0, 0.3, 60), (75.0, 0.25, 60)),
        ((60.0, 0.5, 70), (50.0, 0.2, 60)),
        ((90.0, 0.2, 62), (60.0, 0.4, 80)),
    ],
)
def test_the_probability_that_one_lognormal_cost_is_below_another(repair: tuple, new_part: tuple) -> None:
    """P(A < B) is normal in the logarithm: Phi(log(b / a) / sqrt(s_a^2 + s_b^2)), a and b medians.

    The ratio of independent lognormals is lognormal; source: common practice of statistics, from memory.
    Four standard errors of a plain sample are allowed, and half a hundredth for rounding.
    """
    scale = sqrt(repair[1] ** 2 + new_part[1] ** 2)
    medians = [each[0] * each[2] for each in (repair, new_part)]
    exact = (1 + erf(log(medians[1] / medians[0]) / scale / sqrt(2))) / 2
    labour = labour_samples(paid([repair]), paid([new_part]))
    nothing = Alternative((), Decimal("0.00"), Quantiles(0, 0, 0), (), ())
    found = compared(nothing, nothing, labour, Decimal("0.00"), "USD").probability_repair_cheaper
    assert found == pytest.approx(exact, abs=4 * sqrt(exact * (1 - exact) / labour[0].size) + 0.005)
