"""Days on which the clock is put forward or back, against the IANA time zone database."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planning.timing.calendar import Calendar, Hours, openings, wall_minute

ALL_DAY = (Hours(frozenset(range(7)), 0, 1440),)

# Dates of the change in 2027 by the rules in force: USA, Energy Policy Act of 2005 (second Sunday of March,
# first of November); European Union, directive 2000/84/EC (last Sundays of March and October); New South
# Wales (first Sundays of October and April); Lord Howe Island likewise, by half an hour; Arizona and Japan
# have none. From memory; the lengths are those of the IANA time zone database.
LENGTHS_H = [
    ("America/Chicago", date(2027, 3, 14), 23),
    ("America/Chicago", date(2027, 11, 7), 25),
    ("America/Phoenix", date(2027, 3, 14), 24),
    ("Europe/Berlin", date(2027, 3, 28), 23),
    ("Europe/Berlin", date(2027, 10, 31), 25),
    ("Europe/London", date(2027, 3, 28), 23),
    ("Australia/Sydney", date(2027, 4, 4), 25),
    ("Australia/Sydney", date(2027, 10, 3), 23),
    ("Australia/Lord_Howe", date(2027, 4, 4), 24.5),
    ("Asia/Tokyo", date(2027, 3, 28), 24),
]


@pytest.mark.parametrize(("zone", "day", "hours"), LENGTHS_H)
def test_a_day_is_as_long_as_its_clock_says(zone, day, hours):
    where = ZoneInfo(zone)
    length = wall_minute(day, 1440, where) - wall_minute(day, 0, where)
    assert length == timedelta(hours=hours)


@pytest.mark.parametrize(("zone", "day", "hours"), LENGTHS_H)
def test_a_shop_that_is_open_from_midnight_to_four_on_that_day_is_open_as_long(zone, day, hours):
    night = Calendar(zone, (Hours(frozenset({day.weekday()}), 0, 240),))
    opening = openings(night, day)[0]
    assert opening.closes - opening.opens == timedelta(hours=hours - 20)


@pytest.mark.parametrize("zone", sorted({zone for zone, _, _ in LENGTHS_H}))
def test_the_clock_on_the_wall_shows_the_opening_time_every_day_of_the_year(zone):
    week = Calendar(zone, (Hours(frozenset(range(7)), 450, 1020),))
    where = ZoneInfo(zone)
    for month in range(1, 13, 2):
        for opening in openings(week, date(2027, month, 1)):
            assert f"{opening.opens.astimezone(where):%H:%M}" == "07:30"
            assert f"{opening.closes.astimezone(where):%H:%M}" == "17:00"


def test_a_shop_that_never_closes_is_open_for_sixty_days_of_real_time():
    (always,) = openings(Calendar("Europe/Berlin", ALL_DAY), date(2027, 3, 1))
    assert always.opens == datetime(2027, 2, 28, 23, tzinfo=UTC)
    assert always.closes - always.opens == timedelta(days=60) - timedelta(hours=1)
