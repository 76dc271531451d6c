"""Hands-on time and its distribution."""

from __future__ import annotations

from math import exp, inf, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.job import Job
from planning.learning.model import Learned
from planning.student import student_quantile
from planning.timing.durations import WorkTime, median_work_min, work_time
from planning.timing.sampling import quantiles, work_samples
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


def test_work_around_a_crack_does_not_take_the_minutes_of_the_whole_part():
    crack = Job(area_m2=1.2, damage_length_mm=50, damage_count=2)
    spots_m2 = 2 * (2 * 50 * 100 + pi * 100 * 100) / 1e6
    around = {"covers": "repair", "around_mm": 100.0, "coats": 2.0}
    assert median_work_min(WORK, around, crack) == pytest.approx(2 * (5 + 4 * spots_m2 + 3 * 0.5 * 2))
    assert median_work_min(WORK, {"covers": "trial"}, crack) == 5 + 3 * 0.5 * 2
    assert median_work_min(WORK, {"covers": "part"}, crack) == 5 + 4 * 1.2 + 3 * 0.5 * 2


def test_damage_of_unknown_length_may_be_anywhere_on_the_part():
    around = {"covers": "repair", "around_mm": 100.0}
    assert median_work_min(WORK, around, Job(area_m2=1.2, damage_length_mm=0)) == 5 + 4 * 1.2


sizes = st.tuples(st.floats(0.01, 4), st.floats(1, 900), st.floats(0, 900), st.integers(1, 9))


@given(sizes, sizes, st.floats(0, 300), st.sampled_from(["repair", "trial", "part"]))
def test_a_larger_damage_on_a_larger_part_never_takes_less_work(one, other, around_mm, covers):
    parameters = {"covers": covers, "around_mm": around_mm}
    works = [
        median_work_min(WORK, parameters, Job(area_m2, length_mm, float(count), width_mm))
        for area_m2, length_mm, width_mm, count in (map(min, one, other), one, map(max, one, other))
    ]
    assert works[0] <= works[1] * (1 + 1e-12)
    assert works[1] <= works[2] * (1 + 1e-12)
    assert works[1] <= median_work_min(WORK, {}, Job(one[0], one[1], float(one[3]))) * (1 + 1e-12)


@settings(max_examples=40)
@given(st.floats(0, 600), st.floats(0, 1))
def test_quantiles_of_a_stage_ascend(median_min, spread):
    found = WorkTime(median_min, spread).quantiles()
    assert 0 <= found.p50 <= found.p80 <= found.p95


def test_work_that_is_certain_has_one_quantile():
    found = WorkTime(12.0, 0.0).quantiles()
    assert (found.p50, found.p80, found.p95) == (12, 12, 12)


def test_samples_are_the_same_every_time():
    times = [WorkTime(10, 0.2), WorkTime(20, 0.3, 4.0)]
    assert np.array_equal(work_samples(times), work_samples(times))


@pytest.mark.parametrize("degrees", [inf, 30.0, 6.0, 3.0])
def test_samples_of_one_stage_have_its_quantiles(degrees):
    time = WorkTime(60.0, 0.3, degrees)
    sampled, exact = quantiles(work_samples([time])[0]), time.quantiles()
    assert sampled.p50 == pytest.approx(exact.p50, abs=0.1)
    assert sampled.p80 == pytest.approx(exact.p80, abs=0.1)
    assert sampled.p95 == pytest.approx(exact.p95, abs=0.2)


def test_samples_of_different_stages_are_not_correlated():
    correlation = np.corrcoef(np.log(work_samples([WorkTime(1.0, 1.0)] * 20)))
    # Independent samples of 1,000 have correlations with a standard deviation of 0.032.
    assert np.abs(correlation - np.eye(20)).max() < 0.13


@settings(max_examples=20)
@given(st.lists(st.floats(5, 60), min_size=4, max_size=8))
def test_80_percent_of_a_sum_is_less_than_the_sum_of_80_percents(medians_min):
    times = [WorkTime(median_min, 0.3) for median_min in medians_min]
    total = quantiles(work_samples(times).sum(axis=0))
    apart = [time.quantiles() for time in times]
    assert total.p80 < sum(stage.p80 for stage in apart)
    assert total.p95 < sum(stage.p95 for stage in apart)


def test_what_was_learned_moves_the_median_and_lengthens_the_tails():
    learned = Learned(factor=1.5, spread=0.2, degrees=4.0, jobs=3)
    found = work_time(13.0, 0.25, learned)
    assert found == WorkTime(19.5, 0.2, 4.0, 3)
    assert work_time(13.0, 0.25) == WorkTime(13.0, 0.25)
    assert found.quantiles().p80 == pytest.approx(19.5 * exp(0.2 * 0.9410), abs=0.05)
    assert found.quantiles().p95 == pytest.approx(19.5 * exp(0.2 * 2.1318), abs=0.05)


@pytest.mark.parametrize("degrees", [1.0, 2.5, 7.0, 40.0])
def test_sampled_strata_are_quantiles_of_student_t(degrees):
    scores = np.sort(np.log(work_samples([WorkTime(1.0, 1.0, degrees)])[0]))
    for number in (500, 650, 800, 950, 990, 999):
        assert scores[number] == pytest.approx(student_quantile((number + 0.5) / 1000, degrees), rel=1e-4)
        assert scores[number] == pytest.approx(-scores[999 - number])
