"""Works fitted into opening hours, in minutes from the start of a job.

A work is done in one opening, from its start to its end. A work that may pause is done in the openings of
one day, with the breaks between them; no work stays begun over a closed night.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from math import inf

from planning.timing.calendar import HORIZON_DAYS, Calendar, openings
from planning.timing.temporal import TOLERANCE_MIN

_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Doors:
    """Openings in turn. `first` and `last` are the first and the last opening of the same day, by opening.

    After `horizon_min` nothing is known.
    """

    opens_min: tuple[float, ...]
    closes_min: tuple[float, ...]
    first: tuple[int, ...]
    last: tuple[int, ...]
    horizon_min: float

    def fit(self, from_min: float, work_min: float, pauses: bool) -> tuple[float, float]:
        """The first start from `from_min` on at which the work fits, and its end; infinite where none is.

        What asks for no work, a cure in the air, begins by itself, whether the door is open or not.
        """
        if work_min == 0:
            return from_min, from_min
        for number in range(bisect_right(self.closes_min, from_min), len(self.closes_min)):
            start = max(from_min, self.opens_min[number])
            end = self._end(number, start, work_min, pauses)
            if end is not None:
                return start, end
        return inf, inf

    def last_start(self, start_by_min: float, end_by_min: float, work_min: float, pauses: bool) -> float:
        """The last start, with both bounds kept, at which the work fits; minus infinity where none is."""
        by_min = min(start_by_min, end_by_min)
        if work_min == 0:
            return by_min
        for number in range(bisect_right(self.opens_min, by_min + TOLERANCE_MIN) - 1, -1, -1):
            rest = work_min - self._later_today(number, end_by_min) if pauses else work_min
            start = min(start_by_min, min(end_by_min, self.closes_min[number]) - max(rest, 0.0))
            if start >= self.opens_min[number] - TOLERANCE_MIN:
                return start
        return -inf

    def longest_min(self, pauses: bool) -> float:
        """The longest work that fits anywhere; 0 where the shop is never open."""
        spans: dict[int, float] = {}
        for number, (opens, closes) in enumerate(zip(self.opens_min, self.closes_min, strict=True)):
            span = self.first[number] if pauses else number
            spans[span] = spans.get(span, 0.0) + closes - opens
        return max(spans.values(), default=0.0)

    def closed_before(self, moment_min: float) -> tuple[float, float]:
        """The closed time that ends last at or before a moment in an opening: from when until when."""
        number = bisect_right(self.opens_min, moment_min + TOLERANCE_MIN) - 1
        return self.closes_min[number - 1] if number > 0 else -inf, self.opens_min[number]

    def _end(self, number: int, start: float, work_min: float, pauses: bool) -> float | None:
        """When a work that is begun in this opening ends; None where it does not fit."""
        if start + work_min <= self.closes_min[number] + TOLERANCE_MIN:
            return start + work_min
        rest = work_min - (self.closes_min[number] - start)
        for later in range(number + 1, self.last[number] + 1 if pauses else 0):
            if rest <= self.closes_min[later] - self.opens_min[later] + TOLERANCE_MIN:
                return self.opens_min[later] + rest
            rest -= self.closes_min[later] - self.opens_min[later]
        return None

    def _later_today(self, number: int, until_min: float) -> float:
        """How long the door is open between the end of this opening and a moment, on the same day."""
        later = range(number + 1, self.last[number] + 1)
        return sum(max(0.0, min(until_min, self.closes_min[each]) - self.opens_min[each]) for each in later)


def doors_of(calendar: Calendar, start_at: datetime) -> Doors:
    """The openings of a calendar that end after `start_at`."""
    # A day back, for an opening that began before midnight.
    first_day = start_at.astimezone(calendar.zone).date() - timedelta(days=1)
    known = _since_2000(calendar, first_day)
    began = (start_at - _EPOCH) / _MINUTE
    gone = bisect_right(known.closes_min, began)
    return Doors(
        opens_min=tuple([opens - began for opens in known.opens_min[gone:]]),
        closes_min=tuple([closes - began for closes in known.closes_min[gone:]]),
        first=tuple([number - gone if number > gone else 0 for number in known.first[gone:]]),
        last=tuple([number - gone for number in known.last[gone:]]),
        horizon_min=known.horizon_min,
    )


def doors_from(spans: Sequence[tuple[float, float]], breaks: Sequence[bool], horizon_min: float) -> Doors:
    """Doors by their spans; `breaks` says of each gap whether it is a break within a day."""
    first: list[int] = []
    for number in range(len(spans)):
        first.append(first[-1] if number and breaks[number - 1] else number)
    last = {begun: number for number, begun in enumerate(first)}
    return Doors(
        opens_min=tuple([opens for opens, _ in spans]),
        closes_min=tuple([closes for _, closes in spans]),
        first=tuple(first),
        last=tuple([last[begun] for begun in first]),
        horizon_min=horizon_min,
    )


@lru_cache(maxsize=256)
def _since_2000(calendar: Calendar, first_day: date) -> Doors:
    """The openings from a day on, in minutes since the year 2000 began in UTC."""
    found = openings(calendar, first_day)
    spans = [((each.opens - _EPOCH) / _MINUTE, (each.closes - _EPOCH) / _MINUTE) for each in found]
    breaks = [before.last_day == after.first_day for before, after in pairwise(found)]
    return doors_from(spans, breaks, float((HORIZON_DAYS - 2) * 1440))
