"""The earliest and latest schedule as fixpoints, against the temporal network and against brute force."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from schedule_examples import courses, doors_of_day, shops

from planning.timing.course import course_of
from planning.timing.earliest import earliest, latest
from planning.timing.putting_off import Earliest, put_off
from planning.timing.refusals import FINISH, CalendarTooNarrow, end_of, network_of, start_of
from planning.timing.start import Start
from planning.timing.temporal import InconsistentWindows
from planning.timing.windows import Lag


def finish_of(course, ends):
    return max(end + wait for end, wait in zip(ends, course.wait_min, strict=True))


def scheduled_or_skip(course, doors=None):
    try:
        return earliest(course, doors)
    except (InconsistentWindows, CalendarTooNarrow):
        assume(False)
        raise


@settings(max_examples=150)
@given(courses())
def test_without_opening_hours_the_fixpoints_are_those_of_the_temporal_network(course):
    try:
        network = network_of(course)
    except InconsistentWindows as found:
        told = found.bounds
        with pytest.raises(InconsistentWindows) as caught:
            earliest(course)
        assert caught.value.bounds == told
        return
    starts, ends = earliest(course)
    first, last = network.earliest(), network.latest(FINISH)
    assert starts == pytest.approx([first[start_of(stage)] for stage in course.order])
    assert ends == pytest.approx([first[end_of(stage)] for stage in course.order])
    assert finish_of(course, ends) == pytest.approx(first[FINISH])
    assert latest(course, first[FINISH]) == pytest.approx([last[start_of(stage)] for stage in course.order])


def opened(doors, start, end):
    """The spans of open time between two moments."""
    spans = zip(doors.opens_min, doors.closes_min, strict=True)
    return [
        (max(start, opens), min(end, closes)) for opens, closes in spans if opens < end and closes > start
    ]


def assert_is_a_schedule(course, doors, starts, ends):
    """Turns, lags and opening hours are kept."""
    for position, (start, end) in enumerate(zip(starts, ends, strict=True)):
        spans = opened(doors, start, end)
        assert sum(to - from_ for from_, to in spans) == pytest.approx(course.work_min[position], abs=1e-5)
        if len(spans) > 1:
            assert course.pauses[position]
            numbers = [doors.closes_min.index(to) for _, to in spans[:-1]]
            assert all(doors.last[number] > number for number in numbers)
    assert all(end <= start + 1e-6 for end, start in zip(ends, starts[1:], strict=False))
    for lag in course.lags:
        gap = starts[course.order.index(lag.later)] - ends[course.order.index(lag.earlier)]
        assert gap >= lag.at_least_min - 1e-5
        assert lag.at_most_min is None or gap <= lag.at_most_min + 1e-5


@settings(max_examples=150)
@given(courses(), shops())
def test_works_keep_to_opening_hours_turns_and_lags(course, doors):
    starts, ends = scheduled_or_skip(course, doors)
    assert_is_a_schedule(course, doors, starts, ends)
    finish = finish_of(course, ends)
    last_starts = latest(course, finish, doors)
    assert all(last >= first - 1e-5 for first, last in zip(starts, last_starts, strict=True))
    last_ends = [
        doors.fit(start, work, pauses)[1]
        for start, work, pauses in zip(last_starts, course.work_min, course.pauses, strict=True)
        if work
    ]
    waits = [wait for work, wait in zip(course.work_min, course.wait_min, strict=True) if work]
    assert all(end + wait <= finish + 1e-5 for end, wait in zip(last_ends, waits, strict=True))


@settings(max_examples=100)
@given(courses(), shops())
def test_opening_hours_never_make_anything_earlier(course, doors):
    starts, ends = scheduled_or_skip(course, doors)
    free_starts, free_ends = earliest(course)
    assert all(free <= start + 1e-6 for free, start in zip(free_starts, starts, strict=True))
    assert all(free <= end + 1e-6 for free, end in zip(free_ends, ends, strict=True))


@settings(max_examples=100)
@given(courses(), shops() | st.none(), st.data())
def test_another_window_never_makes_anything_earlier(course, doors, data):
    assume(len(course.order) > 1)
    before, after = sorted(data.draw(st.sets(st.sampled_from(course.order), min_size=2, max_size=2)))
    lag = Lag(before, after, 0.0, float(data.draw(st.integers(0, 60))))
    work = dict(zip(course.order, course.work_min, strict=True))
    wait = dict(zip(course.order, course.wait_min, strict=True))
    # A stage that opens a window is not interrupted; so it is not before either.
    may_pause = {stage for stage, pauses in zip(course.order, course.pauses, strict=True) if pauses} - {
        before
    }
    fewer = course_of(course.order, work, wait, course.lags, may_pause)
    starts, _ = scheduled_or_skip(fewer, doors)
    more_starts, _ = scheduled_or_skip(
        course_of(course.order, work, wait, [*course.lags, lag], may_pause), doors
    )
    assert all(less <= more + 1e-6 for less, more in zip(starts, more_starts, strict=True))


@settings(max_examples=100)
@given(courses(), shops() | st.none(), st.data())
def test_more_work_never_makes_any_end_earlier(course, doors, data):
    """A start it may: a stage that takes longer is begun sooner for what has to start soon after it."""
    position = data.draw(st.integers(0, len(course.order) - 1))
    works = list(course.work_min)
    works[position] += data.draw(st.integers(1, 30))
    _, ends = scheduled_or_skip(course, doors)
    _, more_ends = scheduled_or_skip(replace(course, work_min=tuple(works)), doors)
    assert all(less <= more + 1e-6 for less, more in zip(ends, more_ends, strict=True))


@settings(max_examples=60)
@given(courses(size=4), shops(days=4))
def test_no_stage_could_start_a_minute_sooner(course, doors):
    """With everything before it as it is, no stage fits sooner without a window that closes too soon."""
    starts, ends = scheduled_or_skip(course, doors)
    for position, start in enumerate(starts):
        waits = [ends[before] + minutes for before, minutes in course.least_into[position]]
        ready = max([ends[position - 1] if position else 0.0, *waits])
        pulls = [
            starts[after] - most - course.work_min[position]
            for before, after, most in course.most
            if before == position
        ]
        asked = max([ready, *pulls])
        fits = doors.fit(asked, course.work_min[position], course.pauses[position])[0]
        assert start == pytest.approx(fits, abs=1e-5)


@settings(max_examples=150)
@given(courses(), shops() | st.none())
def test_every_stage_that_is_put_off_is_so_for_the_reason_told(course, doors):
    starts, ends = scheduled_or_skip(course, doors)
    titles = {stage: stage for stage in course.order}
    plan = Earliest(course, starts, ends, Start(doors=doors), titles)
    told = {each.stage: each for each in put_off(plan)}
    for position, stage in enumerate(course.order):
        waits = [ends[before] + minutes for before, minutes in course.least_into[position]]
        ready = max([ends[position - 1] if position else 0.0, *waits])
        assert (stage in told) == (starts[position] > ready + 0.05)
        if stage not in told:
            continue
        off = told[stage]
        assert off.until_min == starts[position]
        if off.window is None:
            closed_from = -1e9 if off.closed_from_min is None else off.closed_from_min
            assert ready + course.work_min[position] >= closed_from
            assert off.closed_until_min <= starts[position]
            assert starts[position] in doors.opens_min
        else:
            assert (position, course.order.index(off.window)) in [bound[:2] for bound in course.most]
        if off.closed_from_min is not None:
            assert opened(doors, off.closed_from_min, off.closed_until_min) == []


def test_a_stage_whose_window_would_run_into_a_closed_door_is_not_begun():
    order = ["clean", "promote", "prime"]
    course = course_of(
        order,
        {"clean": 20.0, "promote": 20.0, "prime": 20.0},
        {"clean": 0.0, "promote": 10.0, "prime": 60.0},
        [Lag("promote", "prime", 10, 30)],
    )
    # Clean is done at 30, promoting would be done at 50, and the door closes at 60.
    starts, ends = earliest(course, doors_of_day((10, 60)))
    assert starts == [10, 1450, 1480]
    titles = {stage: stage for stage in order}
    _, off = put_off(Earliest(course, starts, ends, Start(doors=doors_of_day((10, 60))), titles))
    assert (off.stage, off.from_min, off.until_min, off.window) == ("promote", 30, 1450, "prime")
    assert (off.closed_from_min, off.closed_until_min) == (60, 1450)
    assert "prime has to start within 30 min after it, and the door closes" in off.told


def test_waits_run_on_overnight_and_work_does_not():
    course = course_of(
        ["fill", "sand"],
        {"fill": 20.0, "sand": 30.0},
        {"fill": 600.0, "sand": 0.0},
        [Lag("fill", "sand", 600)],
    )
    assert earliest(course, doors_of_day((0, 480)))[0] == [0, 1440]


@pytest.mark.parametrize(("may_pause", "starts"), [((), [0, 120]), (("sand",), [0, 50])])
def test_only_work_that_may_pause_goes_over_a_break(may_pause, starts):
    course = course_of(
        ["clean", "sand"], {"clean": 50.0, "sand": 60.0}, {"clean": 0.0, "sand": 0.0}, [], may_pause
    )
    found, ends = earliest(course, doors_of_day((0, 100), (120, 200)))
    assert found == starts
    assert ends[-1] == (130 if may_pause else 180)


def test_work_that_may_pause_is_not_left_over_night():
    work = {"wash": 30.0, "sand": 150.0}
    course = course_of(list(work), work, dict.fromkeys(work, 0.0), [], ("sand",))
    starts, ends = earliest(course, doors_of_day((0, 60), (80, 170)))
    assert (starts, ends) == ([0, 1440], [30, 1440 + 170])


@pytest.mark.parametrize(("wash_min", "starts"), [(20.0, [0, 20, 30, 50]), (75.0, [0, 160, 170, 190])])
def test_a_break_inside_a_running_window_is_taken_only_where_the_window_is_kept(wash_min, starts):
    """Promoted at 75, masking would go over the break from 100 to 160, and priming start too late."""
    work = {"wash": wash_min, "promote": 10.0, "mask": 20.0, "prime": 10.0}
    course = course_of(
        list(work), work, dict.fromkeys(work, 0.0), [Lag("promote", "prime", 0, 40)], ("mask",)
    )
    assert earliest(course, doors_of_day((0, 100), (160, 300)))[0] == starts


def test_a_work_longer_than_any_opening_is_named():
    course = course_of(["spray"], {"spray": 95.0}, {"spray": 0.0}, [])
    with pytest.raises(CalendarTooNarrow, match=r"'spray' takes 95 min of work.* at most 60 min") as caught:
        earliest(course, doors_of_day((0, 60), (70, 130)))
    assert caught.value.stages == ("spray",)


def test_a_window_that_no_opening_can_keep_is_named():
    order = ["promote", "prime"]
    course = course_of(
        order, dict.fromkeys(order, 50.0), dict.fromkeys(order, 0.0), [Lag("promote", "prime", 10, 30)]
    )
    with pytest.raises(CalendarTooNarrow, match="'prime' at most 30 min after 'promote'"):
        earliest(course, doors_of_day((0, 60)))


def test_windows_that_contradict_each_other_are_told_as_such_whatever_the_opening_hours():
    work = {"promote": 10.0, "mask": 45.0, "prime": 10.0}
    course = course_of(list(work), work, dict.fromkeys(work, 0.0), [Lag("promote", "prime", 10, 30)])
    with pytest.raises(InconsistentWindows, match="start of prime at most 30 min"):
        earliest(course, doors_of_day((0, 400)))


def test_latest_starts_leave_room_for_what_comes_before_the_door_closes():
    work = {"wash": 10.0, "sand": 20.0}
    course = course_of(list(work), work, {"wash": 0.0, "sand": 0.0}, [Lag("wash", "sand", 100)])
    doors = doors_of_day((0, 60))
    starts, ends = earliest(course, doors)
    assert starts == [0, 1440]
    assert latest(course, ends[-1], doors) == [50, 1440]
