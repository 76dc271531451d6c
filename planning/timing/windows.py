"""Lags between stages: waits and windows, from the end of one stage's work to another's start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from planning.parameters import Parameters, number, written
from planning.rounding import tenth_down, tenth_up
from planning.timing.kinetics import at_least, at_most
from planning.timing.model import StageWindow
from rules.kinetics import ByTemperature
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
    air_c: Mapping[str, float | None],
) -> dict[str, tuple[StageWindow, ...]]:
    """For each stage in `order`, the windows in which it must start, in the order in which they open.

    `earlier` and `wait_min` are as in `wait_lags`: a wait that holds the stage back puts the opening off.
    `air_c` is the temperature of the air at every stage, by which the window after it goes.
    """
    found: dict[str, list[StageWindow]] = {stage: [] for stage in order}
    for position, stage in enumerate(order):
        window = stages[stage].window
        target = window and _target(window, order[position + 1 :])
        if window and target:
            wait = wait_min[stage] if stage in earlier[target] else 0.0
            found[target].append(opened_window(stage, window, parameters[stage], wait, air_c[stage]))
    return {stage: tuple(windows) for stage, windows in found.items()}


def opened_window(
    stage: str, window: Window, parameters: Parameters, wait_min: float, air_c: float | None
) -> StageWindow:
    """The window after `stage` in air of this temperature (None: not known).

    Parameters take the place of the catalogue's bounds, and do not go by the temperature.
    """
    term = window.by_temperature
    not_before, not_after, note = window.not_before_min, window.not_after_min, None
    if term is not None and air_c is not None:
        not_before = tenth_up(not_before * at_least(term, air_c))
        not_after = None if not_after is None else tenth_down(not_after * at_most(term, air_c))
        note = _told(term, air_c)
    set_before, set_after = number(parameters, "not_before_min"), number(parameters, "not_after_min")
    return StageWindow(
        after=stage,
        not_before_min=max(not_before if set_before is None else set_before, wait_min),
        not_after_min=not_after if set_after is None else set_after,
        if_missed=window.if_missed,
        note=note,
    )


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


def _told(term: ByTemperature, air_c: float) -> str | None:
    if term.valid_from_c <= air_c <= term.valid_to_c:
        return None
    return (
        f"{written(air_c)} °C is outside {written(term.valid_from_c)} to {written(term.valid_to_c)} °C, "
        "where the window is known; it is taken to open at the later and to close at the earlier moment."
    )


def _tightness(window: StageWindow) -> tuple[float, float]:
    closes = inf if window.not_after_min is None else window.not_after_min
    return closes, -window.not_before_min
