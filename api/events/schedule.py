"""When a delivery is tried again: the example schedule of Standard Webhooks 1.0.0, with jitter."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

DELAYS = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
"""From one attempt to the next; ten attempts in all, the last one three days and more after the first."""

JITTER = 0.2
"""A delay is longer by up to this share of it, so that what failed together is not tried together."""

LONGEST_HOLD = timedelta(hours=1)
"""So long an endpoint may ask for quiet at a time."""


def delay_after(tries: int, chance: float) -> timedelta | None:
    """How long to wait after so many attempts, None after the last; `chance` from 0 to 1 is the jitter."""
    return DELAYS[tries - 1] * (1 + JITTER * chance) if tries <= len(DELAYS) else None


def hold_until(header: str | None, now: datetime) -> datetime | None:
    """Until when a `Retry-After` (RFC 9110, 10.2.3) asks for quiet; None where it can't be read."""
    asked = None if header is None else _moment(header.strip(), now)
    return None if asked is None or asked <= now else min(asked, now + LONGEST_HOLD)


def _moment(text: str, now: datetime) -> datetime | None:
    if text.isascii() and text.isdecimal():
        return now + min(timedelta(seconds=int(text[:9])), LONGEST_HOLD)
    try:
        at = parsedate_to_datetime(text)
        return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)
    except (ValueError, OverflowError):
        return None
