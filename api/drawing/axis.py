"""A time axis that keeps short work visible beside long waits: idle stretches are cut short."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

BREAK_PX = 52.0
_NARROWEST_PX, _WIDEST_PX = 520.0, 1000.0
_PX_PER_MIN = 3.0
_SHORTEST_BREAK_MIN = 30.0
_LABEL_PX = 42.0
_STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 720, 1440)

Span = tuple[float, float]
"""From and to, in minutes from the start of the job."""


@dataclass(frozen=True)
class Piece:
    """A stretch of the axis with one scale; `broken` when it is drawn shorter than its time."""

    from_min: float
    to_min: float
    from_px: float
    to_px: float
    broken: bool

    def x(self, minute: float) -> float:
        """The place of a minute, in pixels."""
        share = (minute - self.from_min) / (self.to_min - self.from_min)
        return self.from_px + share * (self.to_px - self.from_px)


@dataclass(frozen=True)
class Axis:
    """Pieces that follow one another without a gap, from minute 0 on."""

    pieces: tuple[Piece, ...]

    @property
    def end_min(self) -> float:
        return self.pieces[-1].to_min

    @property
    def width_px(self) -> float:
        return self.pieces[-1].to_px

    @property
    def breaks(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.pieces if piece.broken)

    def x(self, minute: float) -> float:
        """The place of a minute, in pixels; what lies outside is put on the nearest end."""
        inside = min(max(minute, 0.0), self.end_min)
        piece = next(piece for piece in self.pieces if inside <= piece.to_min)
        return piece.x(inside)

    def ticks(self, offset_min: float = 0.0) -> list[float]:
        """Minutes to label, with room for each label.

        `offset_min` is the clock time of minute 0, so that labels fall on round times. The two ends
        and the moment after each break come first.
        """
        chosen: list[float] = []
        for minute in self._candidates(offset_min):
            room = all(abs(self.x(minute) - self.x(other)) >= _LABEL_PX for other in chosen)
            if room:
                chosen.append(minute)
        return sorted(chosen)

    def _candidates(self, offset_min: float) -> Iterator[float]:
        yield from (0.0, self.end_min)
        yield from (piece.to_min for piece in self.breaks)
        for piece in self.pieces:
            if not piece.broken:
                yield from _round_minutes(piece, offset_min)


def axis_of(work: Sequence[Span], end_min: float) -> Axis:
    """The axis for hands-on spans of a job that ends at `end_min`, which is more than 0."""
    stretches = _stretches(_merged(work), end_min)
    linear_min = sum(to - start for start, to, broken in stretches if not broken)
    wanted_px = min(max(linear_min * _PX_PER_MIN, _NARROWEST_PX), _WIDEST_PX)
    pieces: list[Piece] = []
    x = 0.0
    for start, to, broken in stretches:
        width = BREAK_PX if broken else (to - start) * wanted_px / linear_min
        pieces.append(Piece(start, to, x, x + width, broken))
        x += width
    return Axis(tuple(pieces))


def _stretches(busy: Sequence[Span], end_min: float) -> list[tuple[float, float, bool]]:
    """From, to, and whether to cut it short: busy and idle stretches in turn."""
    longest_min = max(_SHORTEST_BREAK_MIN, sum(to - start for start, to in busy) / 4)
    edges = sorted({0.0, end_min, *(edge for span in busy for edge in span)})
    return [
        (start, to, (start, to) not in busy and to - start > longest_min) for start, to in pairwise(edges)
    ]


def _merged(spans: Sequence[Span]) -> list[Span]:
    merged: list[Span] = []
    for start, to in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(to, merged[-1][1]))
        else:
            merged.append((start, to))
    return merged


def _round_minutes(piece: Piece, offset_min: float) -> Iterator[float]:
    px_per_min = (piece.to_px - piece.from_px) / (piece.to_min - piece.from_min)
    step = next((step for step in _STEPS_MIN if step * px_per_min >= _LABEL_PX), _STEPS_MIN[-1])
    minute = -(-(piece.from_min + offset_min) // step) * step - offset_min
    while minute <= piece.to_min:
        yield minute
        minute += step
