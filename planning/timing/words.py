"""Minutes in words: durations, and moments by the clock or from the start of the job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from math import ceil, floor
from zoneinfo import ZoneInfo

from planning.timing.model import moment_at

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ROUNDING_MIN = 0.05


def duration(minutes: float) -> str:
    """`<1 min`, `35 min`, `8 h`, `1 h 05 min`."""
    whole = round(minutes)
    if whole == 0:
        return "<1 min" if minutes > 0 else "0 min"
    hours, rest = divmod(whole, 60)
    if hours == 0:
        return f"{rest} min"
    return f"{hours} h {rest:02} min" if rest else f"{hours} h"


def span(at_least_min: float, at_most_min: float | None) -> str:
    """`10 min to 30 min`, `within 30 min`, `10 min or more`."""
    if at_most_min is None:
        return f"{duration(at_least_min)} or more"
    latest = duration(at_most_min)
    return f"{duration(at_least_min)} to {latest}" if at_least_min else f"within {latest}"


def day_in_words(at: datetime) -> str:
    """`Tue 2 Mar`."""
    return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]}"


@dataclass(frozen=True)
class Clock:
    """Names moments of a job that starts at `start_at`, by the clock of `zone` or with the start's offset."""

    start_at: datetime
    zone: ZoneInfo | None = None

    def at(self, minute: float) -> datetime:
        """The moment, cut off to whole minutes."""
        at = moment_at(self.start_at, self.zone, minute)
        assert at is not None
        return at.replace(second=0, microsecond=0) if at.second or at.microsecond else at

    def from_(self, minute: float) -> datetime:
        """The first whole minute of the clock that is not before a moment."""
        return self.at(ceil(minute + self._into_min - _ROUNDING_MIN) - self._into_min)

    def until(self, minute: float) -> datetime:
        """The last whole minute of the clock that is not after a moment."""
        return self.at(floor(minute + self._into_min + _ROUNDING_MIN) - self._into_min)

    def told(self, at: datetime) -> str:
        """`10:22`, or `08:10 on Wed 3 Mar` where it is not the day of the start."""
        return _hour(at) if at.date() == self.first_day else f"{_hour(at)} on {day_in_words(at)}"

    def told_span(self, first: datetime, last: datetime, joint: str = " to ") -> str:
        """Two moments, each with its day where they lie on two, else with one day or none."""
        if first.date() == last.date():
            return f"{_hour(first)}{joint}{self.told(last)}"
        return f"{_hour(first)} on {day_in_words(first)}{joint}{_hour(last)} on {day_in_words(last)}"

    @cached_property
    def first_day(self) -> date:
        """The day on which the job starts."""
        return self.at(0.0).date()

    @cached_property
    def _into_min(self) -> float:
        """How far the start lies into its minute."""
        return (self.start_at.second + self.start_at.microsecond / 1e6) / 60


def _hour(at: datetime) -> str:
    return f"{at.hour:02}:{at.minute:02}"
