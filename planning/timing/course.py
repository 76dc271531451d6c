"""What a schedule is made of: works, waits and lags by position, so that reckoning is quick."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from planning.timing.windows import Lag

Bound = tuple[int, int, float]
"""Positions of an earlier and a later stage; minutes from the end of the one to the start of the other."""


@dataclass(frozen=True)
class Course:
    """Stages in working order; positions count from 0.

    `most` are the greatest lags. `least_into` and `least_from` hold the least lags to and from each stage, as
    (the other stage, minutes), without those that the turn of the works keeps anyway; the last stage comes
    first in `least_into`. `pauses` says which works a break may interrupt.
    """

    order: tuple[str, ...]
    work_min: tuple[float, ...]
    wait_min: tuple[float, ...]
    lags: tuple[Lag, ...]
    most: tuple[Bound, ...]
    least_into: tuple[tuple[tuple[int, float], ...], ...]
    least_from: tuple[tuple[tuple[int, float], ...], ...]
    pauses: tuple[bool, ...]


def course_of(
    order: Sequence[str],
    work_min: Mapping[str, float],
    wait_min: Mapping[str, float],
    lags: Sequence[Lag],
    may_pause: Collection[str] = (),
) -> Course:
    """The course of a job. A stage whose end opens a window with a latest moment is never interrupted."""
    at = {stage: position for position, stage in enumerate(order)}
    most: list[Bound] = []
    least: dict[tuple[int, int], float] = {}
    for lag in lags:
        pair = at[lag.earlier], at[lag.later]
        if lag.at_least_min > least.get(pair, 0.0):
            least[pair] = lag.at_least_min
        if lag.at_most_min is not None:
            most.append((*pair, lag.at_most_min))
    into: list[list[tuple[int, float]]] = [[] for _ in order]
    out: list[list[tuple[int, float]]] = [[] for _ in order]
    for (before, after), minutes in least.items():
        into[after].append((before, minutes))
        out[before].append((after, minutes))
    openers = {before for before, _, _ in most}
    return Course(
        order=tuple(order),
        work_min=tuple([work_min[stage] for stage in order]),
        wait_min=tuple([wait_min[stage] for stage in order]),
        lags=tuple(lags),
        most=tuple(most),
        least_into=tuple([tuple(sorted(each, reverse=True)) for each in into]),
        least_from=tuple(map(tuple, out)),
        pauses=tuple([stage in may_pause and at[stage] not in openers for stage in order]),
    )
