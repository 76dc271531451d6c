"""When a job starts, and when the shop is open from then on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from planning.timing.calendar import Calendar
from planning.timing.doors import Doors, doors_of
from planning.timing.words import Clock


@dataclass(frozen=True)
class Start:
    """All None where nothing is known; `zone` and `doors` where there is a calendar."""

    at: datetime | None = None
    clock: Clock | None = None
    zone: ZoneInfo | None = None
    doors: Doors | None = None


def start_of(start_at: datetime | None, calendar: Calendar | None = None) -> Start:
    """The start of a job. Raises ValueError for a calendar without a start."""
    if calendar is None:
        return Start(start_at, Clock(start_at) if start_at else None)
    if start_at is None:
        raise ValueError("a calendar needs the start of the job; state start_at too")
    zone = calendar.zone
    return Start(start_at, Clock(start_at, zone), zone, doors_of(calendar, start_at))
