"""Opening hours by the clock on the wall, also where it is put forward or back."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from planning.timing.calendar import Calendar, Hours, openings, wall_minute
from planning.timing.doors import doors_of

EVERY_DAY = frozenset(range(7))
CHICAGO = "America/Chicago"


def calendar(*spans, zone=CHICAGO, days=EVERY_DAY, closed=()):
    return Calendar(zone, tuple(Hours(days, *span) for span in spans), frozenset(closed))


def lengths_min(found, count):
    return [(opening.closes - opening.opens).total_seconds() / 60 for opening in found[:count]]


def test_openings_follow_the_week_the_breaks_and_the_closed_days():
    week = calendar((450, 720), (750, 1020), days=frozenset({0, 1}), closed=[date(2027, 3, 8)])
    found = openings(week, date(2027, 3, 1))
    assert [str(opening.opens)[:16] for opening in found[:5]] == [
        "2027-03-01 13:30",
        "2027-03-01 18:30",
        "2027-03-02 13:30",
        "2027-03-02 18:30",
        # Monday the 8th is closed; on Sunday the 14th the clock was put forward.
        "2027-03-09 13:30",
    ]
    assert str(found[7].opens)[:16] == "2027-03-15 17:30"


@pytest.mark.parametrize(
    ("day", "minutes"), [(date(2027, 3, 13), 480), (date(2027, 3, 14), 420), (date(2027, 11, 7), 540)]
)
def test_an_opening_over_the_change_of_the_clock_is_an_hour_shorter_or_longer(day, minutes):
    """In Chicago the clock is put forward on 14 March 2027 and back on 7 November, at two in the morning."""
    assert lengths_min(openings(calendar((0, 480)), day), 1) == [minutes]


def test_a_time_that_does_not_exist_is_an_hour_later_and_one_that_comes_twice_is_the_first():
    zone = ZoneInfo(CHICAGO)
    assert wall_minute(date(2027, 3, 14), 150, zone) == datetime(2027, 3, 14, 8, 30, tzinfo=UTC)
    assert wall_minute(date(2027, 3, 14), 210, zone) == datetime(2027, 3, 14, 8, 30, tzinfo=UTC)
    assert wall_minute(date(2027, 11, 7), 90, zone) == datetime(2027, 11, 7, 6, 30, tzinfo=UTC)


def test_an_opening_that_the_gap_swallows_is_left_out():
    found = openings(calendar((150, 180), (600, 660)), date(2027, 3, 14))
    assert str(found[0].opens)[:16] == "2027-03-14 15:00"
    # The next day has both.
    assert lengths_min(found, 3) == [60, 30, 60]


def test_openings_that_overlap_once_the_clock_is_put_forward_are_one():
    found = openings(calendar((60, 165), (180, 240)), date(2027, 3, 14))
    assert lengths_min(found, 1) == [120]


def test_a_shop_may_be_open_past_midnight_or_always():
    night = openings(calendar((1320, 1440), (0, 360)), date(2027, 6, 1))
    assert lengths_min(night, 2) == [360, 480]
    (always,) = openings(calendar((0, 1440)), date(2027, 6, 1))
    assert (always.closes - always.opens).days == 60


def test_a_break_is_a_gap_within_a_day_and_a_night_is_none():
    doors = doors_of(calendar((450, 720), (750, 1020)), datetime(2027, 6, 1, 14, tzinfo=UTC))
    assert doors.first[:4] == (0, 0, 2, 2)
    assert doors.last[:4] == (1, 1, 3, 3)
    # 14:00 in UTC is 09:00 in Chicago: the door has been open since 07:30.
    assert doors.opens_min[:2] == (-90, 210)
    assert doors.closes_min[:2] == (180, 480)


def test_the_last_opening_past_midnight_and_the_next_of_that_day_have_a_break_between():
    doors = doors_of(calendar((1320, 1440), (0, 360), (420, 600)), datetime(2027, 6, 1, 14, tzinfo=UTC))
    # 07:00 to 10:00 (that of the first day has begun), then 22:00 to 06:00, 07:00 to 10:00.
    assert doors.first[1] == doors.first[2] == doors.first[3]
