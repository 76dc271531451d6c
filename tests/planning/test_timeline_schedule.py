"""The earliest schedule and the distribution of elapsed time, which share one model."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.course import course_of
from planning.timing.durations import WorkTime
from planning.timing.elapsed import sampled_jobs
from planning.timing.sampling import quantiles, work_samples
from planning.timing.temporal import InconsistentWindows
from planning.timing.timeline import timeline
from planning.timing.windows import Lag

minutes = st.integers(0, 60)


@st.composite
def procedures(draw):
    """Order, works, waits and lags in whole minutes; windows may be impossible to keep."""
    order = [f"s{number}" for number in range(draw(st.integers(1, 6)))]
    work = {stage: float(draw(minutes)) for stage in order}
    wait = {stage: float(draw(minutes)) for stage in order}
    pairs = [(one, other) for at, one in enumerate(order) for other in order[at + 1 :]]
    lags = []
    for earlier, later in draw(st.lists(st.sampled_from(pairs), max_size=5)) if pairs else ():
        least = draw(minutes)
        most = draw(st.none() | st.integers(least, 90))
        lags.append(Lag(earlier, later, float(least), most))
    return order, work, wait, lags


def sampled(order, works, wait, lags, if_missed=None):
    """Jobs with these works; whatever window is missed, `if_missed` is gone back to."""
    course = course_of(order, dict.fromkeys(order, 0.0), wait, lags)
    back = None if if_missed is None else order.index(if_missed)
    return sampled_jobs(course, works, [back] * len(course.most))


def schedule(order, work, wait, lags=(), start_at=None):
    return timeline(order, work, wait, lags, start_at)


@settings(max_examples=100)
@given(procedures())
def test_schedule_keeps_work_apart_and_every_lag(procedure):
    order, _, _, lags = procedure
    try:
        found = schedule(*procedure)
    except InconsistentWindows:
        return
    timed = {stage.stage: stage for stage in found.stages}
    for before, after in pairwise(order):
        assert timed[before].work_end_min <= timed[after].earliest_start_min
    for lag in lags:
        gap = timed[lag.later].earliest_start_min - timed[lag.earlier].work_end_min
        assert lag.at_least_min <= gap
        assert lag.at_most_min is None or gap <= lag.at_most_min
    assert found.elapsed_min == max(stage.ready_min for stage in found.stages)
    assert all(stage.latest_start_min >= stage.earliest_start_min for stage in found.stages)
    assert any(stage.critical for stage in found.stages)


@settings(max_examples=100)
@given(procedures())
def test_sampled_critical_path_of_certain_work_is_that_of_the_timeline(procedure):
    order, work, wait, lags = procedure
    sample = np.array([[work[stage]] for stage in order])
    try:
        expected = schedule(*procedure).elapsed_min
    except InconsistentWindows:
        opened = [Lag(lag.earlier, lag.later, lag.at_least_min) for lag in lags]
        expected = schedule(order, work, wait, opened).elapsed_min
    assert sampled(order, sample, wait, lags).elapsed_min.tolist() == [expected]


@settings(max_examples=40)
@given(procedures(), st.floats(0, 0.5))
def test_elapsed_quantiles_ascend_and_are_no_shorter_than_the_work(procedure, spread):
    order, work, wait, lags = procedure
    works = work_samples([WorkTime(minutes, spread) for minutes in work.values()])
    elapsed = sampled(order, works, wait, lags).elapsed_min
    found = quantiles(elapsed)
    assert found.p50 <= found.p80 <= found.p95
    assert (elapsed >= works.sum(axis=0) - 1e-6).all()


def test_independent_work_is_done_inside_a_wait():
    found = schedule(
        ["fill", "mask", "sand"],
        {"fill": 10, "mask": 15, "sand": 20},
        {"fill": 30, "mask": 0, "sand": 0},
        [Lag("fill", "sand", 30)],
    )
    assert [stage.earliest_start_min for stage in found.stages] == [0, 10, 40]
    assert [stage.slack_min for stage in found.stages] == [0, 15, 0]
    assert [stage.critical for stage in found.stages] == [True, False, True]
    assert found.stages[0].ready_min == 40
    assert found.elapsed_min == 60


def test_last_wait_belongs_to_the_procedure():
    assert schedule(["clear"], {"clear": 10}, {"clear": 60}).elapsed_min == 70


def test_window_holds_its_stage_back_until_it_can_be_kept():
    works, waits = {"dry": 5, "promoter": 10, "prime": 10}, {"dry": 60, "promoter": 0, "prime": 0}
    lags = [Lag("dry", "prime", 60), Lag("promoter", "prime", 10, 30)]
    found = schedule(["dry", "promoter", "prime"], works, waits, lags)
    assert [stage.earliest_start_min for stage in found.stages] == [0, 25, 65]
    assert found.stages[1].latest_start_min == 45


def test_window_that_cannot_be_kept_is_named():
    works = {"promoter": 10, "mask": 45, "prime": 10}
    with pytest.raises(InconsistentWindows, match="start of prime at most 30 min after end of promoter"):
        schedule(list(works), works, dict.fromkeys(works, 0), [Lag("promoter", "prime", 10, 30)])


WINDOW_PULLS_A = [Lag("d", "c", 60), Lag("a", "c", 0, 30), Lag("a", "g", 60)]


@pytest.mark.parametrize(
    ("order", "lags", "elapsed_min"),
    [
        # c at 70 keeps a from ending before 40, so g starts at 100.
        ("dacg", WINDOW_PULLS_A, 110),
        # g at 100 then keeps b from ending before 70, so h starts at 130.
        ("dabcgh", [*WINDOW_PULLS_A, Lag("b", "g", 0, 30), Lag("b", "h", 60)], 140),
    ],
)
def test_windows_that_hold_work_back_lengthen_the_job(order, lags, elapsed_min):
    found = schedule(order, dict.fromkeys(order, 10.0), dict.fromkeys(order, 0.0), lags)
    assert found.elapsed_min == elapsed_min
    found = sampled(order, np.full((len(order), 1), 10.0), dict.fromkeys(order, 0.0), lags)
    assert found.elapsed_min.tolist() == [elapsed_min]


MISSED = np.array([[10.0, 10.0], [20.0, 45.0], [10.0, 10.0]])
ORDER = ["promoter", "mask", "prime"]
CLOSING = [Lag("promoter", "prime", 10, 30)]


def test_a_window_without_a_stage_to_go_back_to_counts_as_if_it_never_closed():
    found = sampled(ORDER, MISSED, dict.fromkeys(ORDER, 0.0), CLOSING)
    assert found.elapsed_min.tolist() == [40, 65]
    assert found.work_min.tolist() == [40, 65]
    assert found.kept_probability(0) == found.all_kept_probability() == 0.5


def test_a_job_that_misses_its_window_does_everything_from_the_stage_to_go_back_to_once_more():
    found = sampled(ORDER, MISSED, dict.fromkeys(ORDER, 0.0), CLOSING, "promoter")
    assert found.elapsed_min.tolist() == [40, 65 + 10 + 45]
    assert found.work_min.tolist() == [40, 65 + 10 + 45]
    assert found.kept_probability(0) == 0.5


def test_waits_are_waited_again_and_hands_on_work_is_only_the_works():
    order = ["clean", "promoter", "mask", "prime"]
    works = np.array([[5.0], [10.0], [45.0], [10.0]])
    lags = [Lag("clean", "promoter", 20), *CLOSING]
    found = sampled(order, works, {"clean": 20.0, "promoter": 0.0, "mask": 0.0, "prime": 60.0}, lags, "clean")
    assert found.elapsed_min.tolist() == [5 + 20 + 10 + 45 + (5 + 20 + 10 + 45) + 10 + 60]
    assert found.work_min.tolist() == [70 + 60]


def test_finish_keeps_the_offset_of_the_start():
    start_at = datetime(2027, 3, 2, 8, 15, tzinfo=timezone(timedelta(hours=-6)))
    found = schedule(["wash"], {"wash": 12.5}, {"wash": 0}, start_at=start_at)
    assert found.finish_at.isoformat() == "2027-03-02T08:27:30-06:00"


def test_nothing_to_do_takes_no_time():
    start_at = datetime(2027, 3, 2, 8, 15, tzinfo=UTC)
    found = schedule([], {}, {}, start_at=start_at)
    assert (found.elapsed_min, found.stages, found.finish_at) == (0, (), start_at)
