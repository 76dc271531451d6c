"""Hands-on time and its distribution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.job import Job
from planning.timing.durations import lognormal, median_work_min, quantiles, work_samples
from rules.pack import Work

WORK = Work(fixed_min=5, per_m2_min=4, per_dm_min=3)


@pytest.mark.parametrize(
    ("parameters", "job", "minutes"),
    [
        ({}, Job(area_m2=2, damage_length_mm=150, damage_count=1), 5 + 8 + 4.5),
        ({}, Job(area_m2=2, damage_length_mm=150, damage_count=3), 5 + 8 + 13.5),
        ({"coats": 2.0}, Job(area_m2=2, damage_length_mm=150, damage_count=1), 35),
        ({"coats": 2.0, "passes": 3.0}, Job(area_m2=2, damage_length_mm=150, damage_count=1), 105),
        ({}, Job(area_m2=2, damage_length_mm=150), 17.5),
        ({}, Job(), 5),
    ],
)
def test_median_work(parameters, job, minutes):
    assert median_work_min(WORK, parameters, job) == minutes


@settings(max_examples=40)
@given(st.floats(0, 600), st.floats(0, 1))
def test_quantiles_of_a_stage_ascend(median_min, spread):
    found = lognormal(median_min, spread)
    assert 0 <= found.p50 <= found.p80 <= found.p95


def test_work_that_is_certain_has_one_quantile():
    found = lognormal(12.0, 0.0)
    assert (found.p50, found.p80, found.p95) == (12, 12, 12)


def test_samples_are_the_same_every_time():
    assert np.array_equal(work_samples([10, 20], [0.2, 0.3]), work_samples([10, 20], [0.2, 0.3]))


def test_samples_of_one_stage_have_its_quantiles():
    sampled, exact = quantiles(work_samples([60.0], [0.3])[0]), lognormal(60.0, 0.3)
    assert sampled.p50 == pytest.approx(exact.p50, abs=0.1)
    assert sampled.p80 == pytest.approx(exact.p80, abs=0.1)
    assert sampled.p95 == pytest.approx(exact.p95, abs=0.2)


def test_samples_of_different_stages_are_not_correlated():
    correlation = np.corrcoef(np.log(work_samples([1.0] * 20, [1.0] * 20)))
    # Independent samples of 4,000 have correlations with a standard deviation of 0.016.
    assert np.abs(correlation - np.eye(20)).max() < 0.065


@settings(max_examples=20)
@given(st.lists(st.floats(5, 60), min_size=4, max_size=8))
def test_80_percent_of_a_sum_is_less_than_the_sum_of_80_percents(medians_min):
    spreads = [0.3] * len(medians_min)
    total = quantiles(work_samples(medians_min, spreads).sum(axis=0))
    apart = [lognormal(median_min, 0.3) for median_min in medians_min]
    assert total.p80 < sum(stage.p80 for stage in apart)
    assert total.p95 < sum(stage.p95 for stage in apart)
