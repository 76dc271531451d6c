"""The distribution of elapsed time: against the schedule of one job, by opening hours, and how near it is."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from schedule_examples import courses, doors_of_day, shops

from planning.timing.course import course_of
from planning.timing.durations import WorkTime
from planning.timing.earliest import earliest
from planning.timing.elapsed import sampled_jobs
from planning.timing.refusals import CalendarTooNarrow
from planning.timing.sampled_doors import SampledDoors
from planning.timing.sampling import SAMPLES, quantiles, work_samples
from planning.timing.temporal import InconsistentWindows
from planning.timing.windows import Lag


def certain(course, jobs=1):
    return np.tile(np.array(course.work_min)[:, None], (1, jobs))


def jobs_of(course, works, doors=None, back=None):
    return sampled_jobs(course, works, [back] * len(course.most), SampledDoors(doors) if doors else None)


@settings(max_examples=300)
@given(courses(), shops() | st.none())
def test_jobs_of_certain_work_keep_to_the_schedule_of_one_job(course, doors):
    try:
        _, ends = earliest(course, doors)
    except (InconsistentWindows, CalendarTooNarrow):
        assume(False)
        raise
    finish = max(end + wait for end, wait in zip(ends, course.wait_min, strict=True))
    found = jobs_of(course, certain(course, 3), doors)
    assert found.elapsed_min == pytest.approx([finish] * 3, abs=1e-4)
    assert found.all_kept_probability() == 1.0


TEN = dict.fromkeys(["wash", "sand", "mask", "prime", "paint"], 10.0)


@pytest.mark.parametrize(
    ("order", "lags", "finish"),
    [
        # Primer that is put off, since paint waits for the wash, is the last to be dry.
        (["wash", "prime", "paint"], [Lag("wash", "paint", 100), Lag("prime", "paint", 0, 20)], 190),
        # Masking is put off for primer that is put off, so that it is the last to be dry.
        (
            ["wash", "mask", "sand", "prime", "paint"],
            [Lag("wash", "paint", 100), Lag("mask", "prime", 0, 30), Lag("sand", "paint", 0, 30)],
            150,
        ),
    ],
)
def test_what_is_put_off_delays_what_waits_for_it(order, lags, finish):
    wait = dict.fromkeys(order, 0.0) | {order[1]: 100.0}
    course = course_of(order, TEN, wait, lags)
    _, ends = earliest(course)
    assert ends[1] + 100 == finish > ends[-1]
    assert jobs_of(course, certain(course)).elapsed_min == pytest.approx([finish])


def test_a_window_without_room_for_what_is_done_again_is_missed_with_the_one_inside_it():
    lags = [Lag("sand", "prime", 0, 5), Lag("wash", "paint", 0, 35)]
    course = course_of(["wash", "sand", "mask", "prime", "paint"], TEN, dict.fromkeys(TEN, 0.0), lags)
    found = jobs_of(course, certain(course), back=1)
    assert [missed.tolist() for missed in found.missed] == [[True], [True]]


@settings(max_examples=60)
@given(courses(), shops(), st.integers(0, 2**32))
def test_every_one_of_many_jobs_is_as_if_it_were_alone(course, doors, seed):
    draw = np.random.default_rng(seed)
    works = certain(course, 4) * draw.lognormal(0.0, 0.4, (len(course.order), 4))
    together = jobs_of(course, works, doors, back=0)
    for job in range(4):
        alone = jobs_of(course, works[:, job : job + 1], doors, back=0)
        assert together.elapsed_min[job] == pytest.approx(alone.elapsed_min[0], abs=1e-4)
        assert together.work_min[job] == pytest.approx(alone.work_min[0], abs=1e-6)


@settings(max_examples=60)
@given(courses(), shops() | st.none(), st.integers(0, 2**32))
def test_all_work_is_the_sum_of_works_and_of_what_is_done_again(course, doors, seed):
    works = certain(course, 5) * np.random.default_rng(seed).lognormal(0.0, 0.4, (len(course.order), 5))
    found = jobs_of(course, works, doors, back=0)
    again = found.work_min - works.sum(axis=0)
    assert (again >= -1e-6).all()
    kept = ~np.logical_or.reduce(
        [missed for missed in found.missed if missed is not None] or [np.zeros(5, bool)]
    )
    assert again[kept] == pytest.approx(np.zeros(kept.sum()), abs=1e-6)
    assert (found.elapsed_min >= found.work_min - 1e-4).all()


@settings(max_examples=60)
@given(courses(), shops(), st.integers(0, 2**32))
def test_no_job_is_done_sooner_for_opening_hours(course, doors, seed):
    works = certain(course, 5) * np.random.default_rng(seed).lognormal(0.0, 0.4, (len(course.order), 5))
    free, kept = jobs_of(course, works), jobs_of(course, works, doors)
    same = np.array_equal(free.work_min, kept.work_min)
    assert not same or (kept.elapsed_min >= free.elapsed_min - 1e-4).all()


def test_a_job_whose_work_fits_no_opening_goes_on_at_the_next():
    course = course_of(["spray"], {"spray": 40.0}, {"spray": 0.0}, [])
    found = jobs_of(course, np.array([[40.0, 70.0, 130.0]]), doors_of_day((0, 60)))
    assert found.elapsed_min.tolist() == [40, 1450, 2890]


def test_a_window_is_missed_only_by_the_jobs_whose_works_between_take_too_long():
    work = {"promote": 10.0, "mask": 20.0, "prime": 10.0}
    course = course_of(list(work), work, dict.fromkeys(work, 0.0), [Lag("promote", "prime", 10, 30)])
    works = work_samples([WorkTime(minutes, 0.5) for minutes in work.values()])
    found = sampled_jobs(course, works, [0])
    longer = works[1] > 30
    assert found.missed[0].tolist() == longer.tolist()
    assert found.kept_probability(0) == pytest.approx(1 - longer.mean())
    # The probability of a lognormal of median 20 to stay under 30, by the normal table: z = 0.811.
    assert found.kept_probability(0) == pytest.approx(0.7913, abs=0.001)


@pytest.mark.parametrize("degrees", [inf, 5.0])
def test_quantiles_are_near_those_of_a_far_larger_sample(degrees):
    """For a job of forty stages, of which some windows are missed; see `planning.timing.sampling`."""
    order = [f"s{number}" for number in range(40)]
    medians = [5.0 + number % 7 for number in range(40)]
    lags = [Lag(order[at], order[at + 1], 15.0) for at in range(0, 39, 6)]
    lags += [Lag(order[at], order[at + 3], 0.0, 60.0) for at in range(1, 36, 5)]
    work, wait = dict(zip(order, medians, strict=True)), dict.fromkeys(order, 0.0)
    course = course_of(order, work, wait, lags)
    spreads = [0.2 + 0.05 * (number % 5) for number in range(40)]
    times = [WorkTime(*each, degrees) for each in zip(medians, spreads, strict=True)]
    back = [before for before, _, _ in course.most]
    found = sampled_jobs(course, work_samples(times), back)
    draw = np.random.default_rng(20417)
    shape = (40, 100_000)
    scores = draw.standard_normal(shape) if degrees == inf else draw.standard_t(degrees, shape)
    works = np.array(medians)[:, None] * np.exp(np.array(spreads)[:, None] * scores)
    large = sampled_jobs(course, works, back)
    assert found.all_kept_probability() == pytest.approx(large.all_kept_probability(), abs=0.02)
    assert SAMPLES == 1000
    for few, many in ((found.elapsed_min, large.elapsed_min), (found.work_min, large.work_min)):
        near, far = quantiles(few), quantiles(many)
        assert near.p50 == pytest.approx(far.p50, rel=0.007)
        assert near.p80 == pytest.approx(far.p80, rel=0.01)
        assert near.p95 == pytest.approx(far.p95, rel=0.02)
