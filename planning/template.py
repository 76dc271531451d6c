"""What of a procedure goes by the decision, the plastic and the air alone, whatever the size of the job.

Decisions are remembered (`rules.cache`), so many jobs ask for the same stages in the same air. What was
worked out for one of them is remembered here by the identity of pack, decision and properties, none of which
change: works, dates and money are reckoned for each job anew.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

from planning.order import dependencies, ordered
from planning.parameters import parameters_of
from planning.place.air import Air, courses
from planning.stages import ReadyStage, made_ready
from planning.timing.conditions import conditions_of, with_terms_of_materials
from planning.timing.model import StageWindow
from planning.timing.windows import Lag, wait_lags, window_lags, windows_by_stage
from rules.conditions import Value
from rules.decision import Setting
from rules.pack import Pack
from rules.same import Same

Settings = Mapping[tuple[str, str], Setting]
Properties = Mapping[str, Value]


@dataclass(frozen=True)
class Template:
    """Stages in working order, by id, the air at each (None: not known), their windows, and all lags."""

    ready: Mapping[str, ReadyStage]
    air_c: Mapping[str, float | None]
    windows: Mapping[str, tuple[StageWindow, ...]]
    lags: tuple[Lag, ...]


def template_of(
    pack: Pack, present: Collection[str], settings: Settings, properties: Properties, air: Air
) -> Template:
    """The stages in `present` with what rules set and what the substrate fixes, in `air` as it was found.

    None of what is given may change afterwards. Raises StageCircle.
    """
    return _template(Same(pack), Same(present), Same(settings), Same(properties), air)


@lru_cache(maxsize=512)
def _template(
    same_pack: Same[Pack],
    present: Same[Collection[str]],
    same_settings: Same[Settings],
    same_properties: Same[Properties],
    air: Air,
) -> Template:
    pack, settings, properties = same_pack.it, same_settings.it, same_properties.it
    order = ordered(pack.stages, present.it, pack.phases)
    parameters = {name: parameters_of(pack.stages[name], settings, properties) for name in order}
    conditions = {
        name: conditions_of(pack.stages[name], parameters[name], course[-1][1], pack.materials, properties)
        for name, course in courses(order, pack.stages, air).items()
    }
    ready = {
        name: made_ready(
            with_terms_of_materials(pack.stages[name], pack.materials), parameters[name], conditions[name]
        )
        for name in order
    }
    earlier = dependencies(pack.stages, order)
    wait_min = {name: ready[name].wait_min for name in order}
    air_c = {name: conditions[name].air_c for name in order}
    windows = windows_by_stage(order, pack.stages, parameters, earlier, wait_min, air_c)
    return Template(ready, air_c, windows, (*wait_lags(order, earlier, wait_min), *window_lags(windows)))
