"""When a shop is open, by the clock on its wall.

Opening times are local wall times of an IANA time zone. Where the clock is put forward, a local time
that does not exist is read with the offset in force before the gap, so 02:30 is 03:30; where it is put
back, a time that comes twice is its first coming. That is the reading of RFC 5545, 3.3.5. An opening
that the gap swallows is left out; one that spans the change is an hour shorter or longer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

HORIZON_DAYS = 60
"""So many days are looked ahead."""

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True)
class Hours:
    """Open on these days of the week (0 is Monday) between two minutes of the day, up to 1440."""

    days: frozenset[int]
    from_min: int
    until_min: int


@dataclass(frozen=True)
class Calendar:
    """The opening hours of a week, and the days on which the shop is closed all the same."""

    time_zone: str
    hours: tuple[Hours, ...]
    closed: frozenset[date] = frozenset()

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)


@dataclass(frozen=True)
class Opening:
    """From when until when the door is open, and the first and last day on which that is written."""

    opens: datetime
    closes: datetime
    first_day: date
    last_day: date


def openings(calendar: Calendar, first_day: date) -> tuple[Opening, ...]:
    """The openings of HORIZON_DAYS days from `first_day` on, in turn, in UTC.

    Openings that touch or overlap are one, so that a shop may be open past midnight.
    """
    days = (first_day + timedelta(days=number) for number in range(HORIZON_DAYS))
    merged: list[Opening] = []
    for opening in sorted(
        (opening for day in days if day not in calendar.closed for opening in _of_day(calendar, day)),
        key=lambda opening: opening.opens,
    ):
        if merged and opening.opens <= merged[-1].closes:
            before = merged.pop()
            closes = max(before.closes, opening.closes)
            opening = Opening(before.opens, closes, before.first_day, opening.last_day)
        merged.append(opening)
    return tuple(merged)


def wall_minute(day: date, minute: int, zone: ZoneInfo) -> datetime:
    """The moment, in UTC, at which the clock on the wall shows so many minutes (0 to 1440) of a day."""
    days, minute = divmod(minute, 1440)
    shown = time(minute // 60, minute % 60)
    return datetime.combine(day + timedelta(days=days), shown, tzinfo=zone).astimezone(UTC)


def _of_day(calendar: Calendar, day: date) -> list[Opening]:
    zone = calendar.zone
    found = [
        Opening(wall_minute(day, hours.from_min, zone), wall_minute(day, hours.until_min, zone), day, day)
        for hours in calendar.hours
        if day.weekday() in hours.days
    ]
    return [opening for opening in found if opening.opens < opening.closes]
