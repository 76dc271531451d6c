"""What a schedule is made of: works, waits and lags by position, so that reckoning is quick."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from planning.timing.windows import Lag

Bound = tuple[int, int, float]
"""Positions of an earlier and a later stage; minutes from the end of the one to the start of the other."""


Lags = Sequence[Sequence[tuple[int, float]]]
"""For each stage, other stages and minutes."""


@dataclass(frozen=True)
class Course:
    """Stages in working order; positions count from 0.

    `most` are the greatest lags; `rest_min` is what each leaves to the works between when all waits between
    are waited out, minus infinity where a wait from before reaches in between. `least_into` and `least_from`
    hold the least lags to and from each stage, as (the other stage, minutes), without those that the turn of
    the works keeps anyway; the last stage comes first in `least_into`. `last_waits` are the waits, by
    position, that may outlast all works. `pauses` says which works a break may interrupt.
    """

    order: tuple[str, ...]
    work_min: tuple[float, ...]
    wait_min: tuple[float, ...]
    lags: tuple[Lag, ...]
    most: tuple[Bound, ...]
    rest_min: tuple[float, ...]
    least_into: tuple[tuple[tuple[int, float], ...], ...]
    least_from: tuple[tuple[tuple[int, float], ...], ...]
    last_waits: tuple[tuple[int, float], ...]
    pauses: tuple[bool, ...]

    def with_work(self, work_min: Sequence[float]) -> Course:
        """The same stages with other works."""
        return replace(self, work_min=tuple(work_min))


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
    waits = tuple([wait_min[stage] for stage in order])
    return Course(
        order=tuple(order),
        work_min=tuple([work_min[stage] for stage in order]),
        wait_min=waits,
        lags=tuple(lags),
        most=tuple(most),
        rest_min=tuple([_rest_min(bound, into, out) for bound in most]),
        least_into=tuple([tuple(sorted(each, reverse=True)) for each in into]),
        least_from=tuple(map(tuple, out)),
        last_waits=tuple(_last_waits(waits, out)),
        pauses=tuple([stage in may_pause and at[stage] not in openers for stage in order]),
    )


def _rest_min(bound: Bound, into: Lags, out: Lags) -> float:
    """What a greatest lag leaves to the works between; see `Course`."""
    before, after, most = bound
    if any(earlier < before for each in range(before + 1, after + 1) for earlier, _ in into[each]):
        return -inf
    return most - sum(minutes for each in range(before, after) for _, minutes in out[each])


def _last_waits(wait_min: Sequence[float], out: Lags) -> Iterator[tuple[int, float]]:
    """The wait of the last stage, and those that hold back no stage for as long."""
    for position, wait in enumerate(wait_min):
        held = max([0.0, *(minutes for _, minutes in out[position])])
        if wait > held or position == len(wait_min) - 1:
            yield position, wait
