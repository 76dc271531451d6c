"""Minutes in words: durations, and moments from the start of the job or on the clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


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


@dataclass(frozen=True)
class Clock:
    """Names moments by the clock when `start_at` is known, else by hours and minutes from the start."""

    start_at: datetime | None

    @property
    def offset_min(self) -> float:
        """Minutes from midnight to the start; 0 without a clock."""
        if self.start_at is None:
            return 0.0
        return self.start_at.hour * 60 + self.start_at.minute + self.start_at.second / 60

    def time(self, minute: float) -> str:
        """`08:15` on the clock, `0:35` from the start."""
        if self.start_at is None:
            hours, rest = divmod(round(minute), 60)
            return f"{hours}:{rest:02}"
        at = self._at(minute)
        return f"{at.hour:02}:{at.minute:02}"

    def day(self, minute: float) -> str | None:
        """`Tue 2 Mar`; None without a clock."""
        if self.start_at is None:
            return None
        at = self._at(minute)
        return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]}"

    def _at(self, minute: float) -> datetime:
        assert self.start_at is not None
        return self.start_at + timedelta(minutes=minute, seconds=30)  # so that cutting off rounds
