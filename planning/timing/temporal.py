"""Simple temporal networks: moments, with a least and a greatest lag between some of them.

Source: R. Dechter, I. Meiri and J. Pearl, Temporal constraint networks, Artificial Intelligence 49
(1991) 61-95. A network is consistent when its distance graph has no negative circle; then the
shortest distances between all pairs are the tightest lags that the constraints imply.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

TOLERANCE_MIN = 1e-6
"""Sums of decimal minutes carry rounding; a circle shorter than zero by less than this is none."""


@dataclass(frozen=True)
class Constraint:
    """`later` lies at least and at most so many minutes after `earlier`; None: no upper bound."""

    earlier: str
    later: str
    at_least_min: float
    at_most_min: float | None = None


class InconsistentWindows(ValueError):
    """Constraints that cannot all hold.

    `bounds` says each of them in words; together they demand `excess_min` more than they allow.
    """

    def __init__(self, bounds: tuple[str, ...], excess_min: float) -> None:
        told = "; ".join(bounds)
        super().__init__(f"these cannot all hold, by {excess_min:g} min: {told}")
        self.bounds = bounds
        self.excess_min = excess_min


@dataclass(frozen=True)
class MinimalNetwork:
    """The tightest lags of a consistent network, in minutes; the first moment is the origin.

    `distances[i, j]` (square, infinite where unbounded): moment j is at most so much after moment i.
    """

    moments: tuple[str, ...]
    distances: NDArray[np.float64]

    def earliest(self) -> dict[str, float]:
        """Every moment as early as the constraints allow; these times satisfy all of them."""
        return dict(zip(self.moments, (-self.distances[:, 0]).tolist(), strict=True))

    def latest(self, finish: str) -> dict[str, float]:
        """Every moment as late as allowed when `finish` keeps its earliest time."""
        row = self.moments.index(finish)
        after_finish = self.distances[row]
        return dict(zip(self.moments, (after_finish - after_finish[0]).tolist(), strict=True))


@dataclass(frozen=True)
class _Edge:
    """In the distance graph: `head` is at most `weight` minutes after `tail`."""

    tail: int
    head: int
    weight: float
    words: str


def minimal_network(moments: Sequence[str], constraints: Iterable[Constraint]) -> MinimalNetwork:
    """All-pairs shortest paths by Floyd and Warshall, in time cubic in the number of moments.

    Raises InconsistentWindows.
    """
    index = {moment: number for number, moment in enumerate(moments)}
    edges = [edge for constraint in constraints for edge in _edges(constraint, index)]
    distances = np.full((len(moments), len(moments)), np.inf)
    np.fill_diagonal(distances, 0.0)
    for edge in edges:
        distances[edge.tail, edge.head] = min(distances[edge.tail, edge.head], edge.weight)
    for via in range(len(moments)):
        np.minimum(distances, distances[:, via, None] + distances[None, via, :], out=distances)
        if distances.diagonal().min() < -TOLERANCE_MIN:
            circle = _negative_circle(len(moments), edges)
            words = tuple(edge.words for edge in circle)
            raise InconsistentWindows(words, round(-sum(edge.weight for edge in circle), 6))
    return MinimalNetwork(tuple(moments), distances)


def _edges(constraint: Constraint, index: Mapping[str, int]) -> list[_Edge]:
    earlier, later = constraint.earlier, constraint.later
    tail, head = index[earlier], index[later]
    least, most = constraint.at_least_min, constraint.at_most_min
    not_before = f"at least {least:g} min after" if least else "not before"
    edges = [_Edge(head, tail, -least, f"{later} {not_before} {earlier}")]
    if most is not None:
        edges.append(_Edge(tail, head, most, f"{later} at most {most:g} min after {earlier}"))
    return edges


def _negative_circle(size: int, edges: Sequence[_Edge]) -> list[_Edge]:
    """The edges of one negative circle, by Bellman and Ford; there must be one."""
    # Round a circle shorter than -TOLERANCE_MIN, some moment moves by more than this in every pass.
    step = TOLERANCE_MIN / (2 * size)
    distance = [0.0] * size
    into: dict[int, _Edge] = {}
    moved = 0
    for _ in range(size):
        for edge in edges:
            if distance[edge.tail] + edge.weight < distance[edge.head] - step:
                distance[edge.head] = distance[edge.tail] + edge.weight
                into[edge.head] = edge
                moved = edge.head
    for _ in range(size):
        moved = into[moved].tail
    circle = [into[moved]]
    while circle[-1].tail != moved:
        circle.append(into[circle[-1].tail])
    return circle[::-1]
