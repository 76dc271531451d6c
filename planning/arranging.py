"""Required stages brought into order and sized, with the windows between them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from planning.job import Job
from planning.order import dependencies, ordered
from planning.parameters import parameters_of
from planning.stages import SizedStage, sized
from planning.timing.model import StageWindow
from planning.timing.windows import Lag, wait_lags, window_lags, windows_by_stage
from rules.conditions import Value
from rules.decision import Setting
from rules.pack import Pack


@dataclass(frozen=True)
class Arrangement:
    """Stages in working order, by id, with their windows, and all lags between them."""

    sizes: Mapping[str, SizedStage]
    windows: Mapping[str, tuple[StageWindow, ...]]
    lags: tuple[Lag, ...]


def arranged(
    pack: Pack,
    present: Iterable[str],
    settings: Mapping[tuple[str, str], Setting],
    properties: Mapping[str, Value],
    job: Job,
) -> Arrangement:
    """The stages in `present` with what rules set and what the substrate fixes. Raises StageCircle."""
    order = ordered(pack.stages, present, pack.phases)
    parameters = {name: parameters_of(pack.stages[name], settings, properties) for name in order}
    sizes = {name: sized(pack.stages[name], parameters[name], job) for name in order}
    earlier = dependencies(pack.stages, order)
    wait_min = {name: sizes[name].wait_min for name in order}
    windows = windows_by_stage(order, pack.stages, parameters, earlier, wait_min)
    return Arrangement(sizes, windows, (*wait_lags(order, earlier, wait_min), *window_lags(windows)))
