"""Works of many sampled jobs fitted into opening hours at once; the model is that of `planning.timing.doors`.

After the horizon the door is taken to be open for good, so that every job comes to an end.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from planning.timing.doors import Doors
from planning.timing.temporal import TOLERANCE_MIN

Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Spans:
    """Spans in turn in which a work fits or not; the last one never ends."""

    opens: Samples
    closes: Samples
    longest: float

    def first_start(self, starts: Samples, works: Samples) -> Samples:
        """The first starts from `starts` on at which the works fit, one for each job."""
        numbers = _places(self.closes, starts)
        begun = np.maximum(starts, self.opens[numbers])
        late = begun + works > self.closes[numbers] + TOLERANCE_MIN
        while late.any():
            numbers += late
            begun = np.where(late, self.opens[numbers], begun)
            late = begun + works > self.closes[numbers] + TOLERANCE_MIN
        return begun


class SampledDoors:
    """Doors for arrays with one moment for each job."""

    def __init__(self, doors: Doors) -> None:
        known = [number for number, opens in enumerate(doors.opens_min) if opens < doors.horizon_min]
        opens = [*(doors.opens_min[number] for number in known), doors.horizon_min]
        closes = [*(min(doors.closes_min[number], doors.horizon_min) for number in known), inf]
        self._open_before = np.concatenate([[0.0], np.cumsum(np.subtract(closes[:-1], opens[:-1]))])
        self._openings, self._closings = opens, closes
        self._opens = np.array(opens)
        self._once = _spans(opens, closes)
        days = [number for number in known if doors.first[number] == number]
        begun = [*self._open_before[days].tolist(), float(self._open_before[-1])]
        self._days = _spans(begun, [*begun[1:], inf])

    def fit(self, starts: Samples, works: Samples, pauses: bool) -> tuple[Samples, Samples]:
        """The first starts at which the works fit, and their ends.

        A work that is longer than any time in which it could be done is begun when the door is open, and
        gone on with whenever it is open again. What asks for no work in any job begins by itself.
        """
        if not works.any():
            return starts, starts
        ends = starts + works
        soonest = starts.min()
        number = bisect_right(self._closings, soonest)
        if soonest >= self._openings[number] and ends.max() <= self._closings[number]:
            return starts, ends
        spans = self._days if pauses else self._once
        shortened = works if works.max() <= spans.longest else np.where(works > spans.longest, 0.0, works)
        if pauses:
            begun = self._at(spans.first_start(self._open_time(starts), shortened))
            return begun, self.resumed(begun, works)
        begun = spans.first_start(starts, shortened)
        ends = begun + works
        return begun, ends if shortened is works else np.where(
            works > shortened, self.resumed(begun, works), ends
        )

    def resumed(self, starts: Samples, works: Samples) -> Samples:
        """When works end that are laid down whenever the door closes."""
        until = self._open_time(starts) + works
        number = np.maximum(_places(self._open_before, until - TOLERANCE_MIN) - 1, 0)
        ends: Samples = np.maximum(self._opens[number] + until - self._open_before[number], starts)
        return ends

    def _open_time(self, moments: Samples) -> Samples:
        """How long the door has been open, from the start of the job to these moments."""
        number = _places(self._once.closes, moments)
        opened: Samples = self._open_before[number] + np.maximum(moments - self._opens[number], 0.0)
        return opened

    def _at(self, open_time: Samples) -> Samples:
        """The last moments up to which the door has been open for so long."""
        number = _places(self._open_before, open_time) - 1
        moments: Samples = self._opens[number] + open_time - self._open_before[number]
        return moments


def _places(edges: Samples, moments: Samples) -> NDArray[np.intp]:
    """How many of the ascending edges are not after each moment; quick where moments lie near each other."""
    low, high = edges.searchsorted([moments.min(), moments.max()], side="right").tolist()
    places: NDArray[np.intp] = edges[low:high].searchsorted(moments, side="right") + low
    return places


def _spans(opens: list[float], closes: list[float]) -> Spans:
    lengths = [closed - opened for opened, closed in zip(opens[:-1], closes[:-1], strict=True)]
    return Spans(np.array(opens), np.array(closes), max(lengths, default=0.0))
