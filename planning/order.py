"""The order of stages: what comes before what, whatever the order of files and rules."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from heapq import heapify, heappop, heappush

from rules.pack import Stage
from rules.same import Same


class StageCircle(ValueError):
    """Stages come after themselves; `circle` names them, each after the next, first and last equal."""

    def __init__(self, circle: tuple[str, ...]) -> None:
        super().__init__("stages come after themselves: " + " after ".join(circle))
        self.circle = circle


def dependencies(stages: Mapping[str, Stage], present: Iterable[str]) -> Mapping[str, frozenset[str]]:
    """For each present stage, the present stages that it comes after, directly or not.

    `stages` is the whole catalogue, which does not change: A after B after C puts A after C also where B is
    absent. Raises StageCircle when a present stage comes after itself.
    """
    return _dependencies(Same(stages), frozenset(present))


def ordered(stages: Mapping[str, Stage], present: Iterable[str], phases: Sequence[str]) -> tuple[str, ...]:
    """The present stages in working order; of those free to come next, by phase, then by id.

    Raises StageCircle.
    """
    return _ordered(Same(stages), frozenset(present), tuple(phases))


@lru_cache(maxsize=512)
def _dependencies(
    catalogue: Same[Mapping[str, Stage]], present: frozenset[str]
) -> Mapping[str, frozenset[str]]:
    earlier: dict[str, frozenset[str]] = {}
    for stage in sorted(present):
        reached = _reached(catalogue, stage)
        if stage in reached:
            raise StageCircle(_circle(reached, stage))
        earlier[stage] = present & reached.keys()
    return earlier


@lru_cache(maxsize=512)
def _ordered(
    catalogue: Same[Mapping[str, Stage]], present: frozenset[str], phases: tuple[str, ...]
) -> tuple[str, ...]:
    stages = catalogue.it
    waiting = {stage: set(earlier) for stage, earlier in _dependencies(catalogue, present).items()}
    rank = {phase: number for number, phase in enumerate(phases)}
    free = [(rank[stages[stage].phase], stage) for stage, earlier in waiting.items() if not earlier]
    heapify(free)
    order: list[str] = []
    while free:
        _, stage = heappop(free)
        order.append(stage)
        for other, earlier in waiting.items():
            if stage in earlier:
                earlier.remove(stage)
                if not earlier:
                    heappush(free, (rank[stages[other].phase], other))
    return tuple(order)


@lru_cache(maxsize=4096)
def _reached(catalogue: Same[Mapping[str, Stage]], start: str) -> Mapping[str, str]:
    """Every stage that `start` comes after, with the stage through which it was reached first."""
    stages = catalogue.it
    reached: dict[str, str] = {}
    frontier = [start]
    while frontier:
        following: list[str] = []
        for stage in frontier:
            for earlier in stages[stage].after:
                if earlier not in reached:
                    reached[earlier] = stage
                    following.append(earlier)
        frontier = following
    return reached


def _circle(reached: Mapping[str, str], stage: str) -> tuple[str, ...]:
    back = [stage, reached[stage]]
    while back[-1] != stage:
        back.append(reached[back[-1]])
    return tuple(reversed(back))
