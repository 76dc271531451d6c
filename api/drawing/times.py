"""Minutes in words: durations, and moments from the start of the job or on the clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from planning.timing.model import moment_at
from planning.timing.words import day_in_words, duration, span

__all__ = ["Clock", "duration", "span"]


@dataclass(frozen=True)
class Clock:
    """Names moments by the clock when `start_at` is known, else by hours and minutes from the start.

    The clock is that of `zone` where there is one, else it keeps the offset of the start.
    """

    start_at: datetime | None
    zone: ZoneInfo | None = None

    @property
    def offset_min(self) -> float:
        """Minutes from midnight to the start; 0 without a clock."""
        start = moment_at(self.start_at, self.zone, 0.0)
        return 0.0 if start is None else start.hour * 60 + start.minute + start.second / 60

    def time(self, minute: float) -> str:
        """`08:15` on the clock, `0:35` from the start."""
        at = self._at(minute)
        if at is None:
            hours, rest = divmod(round(minute), 60)
            return f"{hours}:{rest:02}"
        return f"{at.hour:02}:{at.minute:02}"

    def day(self, minute: float) -> str | None:
        """`Tue 2 Mar`; None without a clock."""
        at = self._at(minute)
        return None if at is None else day_in_words(at)

    def _at(self, minute: float) -> datetime | None:
        return moment_at(self.start_at, self.zone, minute + 0.5)  # so that cutting off rounds
