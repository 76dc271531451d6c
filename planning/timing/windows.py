"""Lags between stages: waits and windows, from the end of one stage's work to another's start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from planning.parameters import Parameters, number
from planning.timing.model import StageWindow
from rules.pack import Stage, Window


@dataclass(frozen=True)
class Lag:
    """`later` starts at least and at most so many minutes after the work of `earlier` has ended."""

    earlier: str
    later: str
    at_least_min: float
    at_most_min: float | None = None


def windows_by_stage(
    order: Sequence[str],
    stages: Mapping[str, Stage],
    parameters: Mapping[str, Parameters],
    earlier: Mapping[str, frozenset[str]],
    wait_min: Mapping[str, float],
) -> dict[str, tuple[StageWindow, ...]]:
    """For each stage in `order`, the windows in which it must start, in the order in which they open.

    `earlier` and `wait_min` are as in `wait_lags`: a wait that holds the stage back puts the opening off.
    """
    found: dict[str, list[StageWindow]] = {stage: [] for stage in order}
    for position, stage in enumerate(order):
        window = stages[stage].window
        target = window and _target(window, order[position + 1 :])
        if window and target:
            wait = wait_min[stage] if stage in earlier[target] else 0.0
            found[target].append(_opened(stage, window, parameters[stage], wait))
    return {stage: tuple(windows) for stage, windows in found.items()}


def tightest(windows: Iterable[StageWindow]) -> StageWindow | None:
    """The window that closes first after its stage; among those that never close, the last to open."""
    return min(windows, key=_tightness, default=None)


def wait_lags(
    order: Sequence[str], earlier: Mapping[str, frozenset[str]], wait_min: Mapping[str, float]
) -> tuple[Lag, ...]:
    """A least lag from every stage that waits to the first in `order` that comes after it by `earlier`.

    Stages between the two may be worked on meanwhile; all that follow the second start later anyway.
    """
    waiting = [stage for stage in order if wait_min[stage] > 0]
    first = {stage: next((later for later in order if stage in earlier[later]), None) for stage in waiting}
    return tuple(Lag(stage, later, wait_min[stage]) for stage, later in first.items() if later)


def window_lags(windows: Mapping[str, tuple[StageWindow, ...]]) -> tuple[Lag, ...]:
    """The least and greatest lags that windows mean."""
    return tuple(
        Lag(window.after, later, window.not_before_min, window.not_after_min)
        for later, opened in windows.items()
        for window in opened
    )


def _target(window: Window, following: Iterable[str]) -> str | None:
    return next((stage for stage in following if stage in window.to), None)


def _opened(stage: str, window: Window, parameters: Parameters, wait_min: float) -> StageWindow:
    """The window after `stage`; its parameters take the place of the catalogue's bounds."""
    not_before = number(parameters, "not_before_min")
    not_after = number(parameters, "not_after_min")
    return StageWindow(
        after=stage,
        not_before_min=max(window.not_before_min if not_before is None else not_before, wait_min),
        not_after_min=window.not_after_min if not_after is None else not_after,
        if_missed=window.if_missed,
    )


def _tightness(window: StageWindow) -> tuple[float, float]:
    closes = inf if window.not_after_min is None else window.not_after_min
    return closes, -window.not_before_min
