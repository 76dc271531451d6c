"""Works of many sampled jobs fitted into opening hours at once; the model is that of `planning.timing.doors`.

After the horizon the door is taken to be open for good, so that every job comes to an end. Open time is what
a clock would show that runs only while the door is open.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planning.timing.doors import Doors
from planning.timing.temporal import TOLERANCE_MIN

Samples = NDArray[np.float64]


class Fitted(NamedTuple):
    """When works start and end, and until when the door that they end behind stays open."""

    starts: Samples
    ends: Samples
    until: Samples


@dataclass(frozen=True)
class Rooms:
    """Where works find room that begin in an opening: up to when, in open time, and in which opening else."""

    until: Samples
    otherwise: NDArray[np.intp]
    longest_min: float


class SampledDoors:
    """Doors for arrays with one moment for each job."""

    def __init__(self, doors: Doors) -> None:
        known = bisect_left(doors.opens_min, doors.horizon_min)
        self._opens = np.array([*doors.opens_min[:known], doors.horizon_min])
        self._closes = np.array([*doors.closes_min[:known], inf])
        np.minimum(self._closes[:-1], doors.horizon_min, out=self._closes[:-1])
        lengths = self._closes[:-1] - self._opens[:-1]
        self._opened = np.concatenate([[0.0], np.cumsum(lengths)])
        self._until = self._closes + TOLERANCE_MIN
        self._once = self._rooms(np.arange(1, known + 2))
        self._days = self._rooms(np.minimum(np.array([*doors.last[:known], known]) + 1, known))

    def fit(self, starts: Samples, works: Samples, pauses: bool, until: Samples) -> Fitted:
        """The first starts at which the works fit; from those that are given the door is open `until` then.

        A work that is longer than any time in which it could be done is begun when the door is open, and
        gone on with whenever it is open again. What asks for no work in any job begins by itself.
        """
        ends = starts + works
        jobs = (ends > until).nonzero()[0]
        if not len(jobs):
            return Fitted(starts, ends, until)
        if not works.any():
            return Fitted(starts, starts, until)
        starts, until = starts.copy(), until.copy()
        starts[jobs], ends[jobs], until[jobs] = self._moved(starts[jobs], works[jobs], pauses)
        return Fitted(starts, ends, until)

    def resumed(self, starts: Samples, works: Samples) -> Samples:
        """When works end that are laid down whenever the door closes."""
        number = self._closes.searchsorted(starts, side="right")
        begun = np.maximum(starts - self._opens[number], 0.0)
        ends, _ = self._shown(self._opened[number] + begun + works)
        return np.maximum(ends, starts)

    def _moved(self, starts: Samples, works: Samples, pauses: bool) -> Fitted:
        """The first starts at which the works fit, wherever they are."""
        rooms = self._days if pauses else self._once
        number = self._closes.searchsorted(starts, side="right")
        opens = self._opens[number]
        begun = np.maximum(starts, opens)
        at = self._opened[number] + (begun - opens)
        too_long = works > rooms.longest_min
        none_too_long = not np.count_nonzero(too_long)
        asked = works if none_too_long else np.where(too_long, 0.0, works)
        late = at + asked > rooms.until[number]
        while np.count_nonzero(late):
            number = np.where(late, rooms.otherwise[number], number)
            begun = np.where(late, self._opens[number], begun)
            at = np.where(late, self._opened[number], at)
            late = at + asked > rooms.until[number]
        if none_too_long and not pauses:
            return Fitted(begun, begun + works, self._until[number])
        ends, last = self._shown(at + works)
        if not pauses:
            ends = np.where(too_long, ends, begun + works)
        return Fitted(begun, np.maximum(ends, begun), self._until[last])

    def _shown(self, open_time: Samples) -> tuple[Samples, NDArray[np.intp]]:
        """The first moments up to which the door has been open for so long, and the openings they lie in."""
        number = np.maximum(self._opened.searchsorted(open_time - TOLERANCE_MIN, side="right") - 1, 0)
        return self._opens[number] + open_time - self._opened[number], number

    def _rooms(self, otherwise: NDArray[np.intp]) -> Rooms:
        """Rooms that last up to the opening `otherwise`; that after the horizon never ends."""
        until = np.append(self._opened[otherwise[:-1]], inf)
        longest_min = float((until - self._opened)[:-1].max(initial=0.0))
        return Rooms(until + TOLERANCE_MIN, otherwise, longest_min)
