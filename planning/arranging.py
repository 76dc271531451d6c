"""Required stages brought into order and sized, with the windows between them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from planning.job import Job
from planning.learning.model import Learned
from planning.place.air import measured
from planning.stages import SizedStage, sized_for
from planning.template import template_of
from planning.timing.model import StageWindow
from planning.timing.windows import Lag
from rules.conditions import Value
from rules.decision import Setting
from rules.pack import Pack


@dataclass(frozen=True)
class Arrangement:
    """Stages in working order, by id, the air at each (None: not known), their windows, and all lags."""

    sizes: Mapping[str, SizedStage]
    air_c: Mapping[str, float | None]
    windows: Mapping[str, tuple[StageWindow, ...]]
    lags: tuple[Lag, ...]


def arranged(
    pack: Pack,
    present: Collection[str],
    settings: Mapping[tuple[str, str], Setting],
    properties: Mapping[str, Value],
    job: Job,
    learned: Mapping[str, Learned] | None = None,
) -> Arrangement:
    """The stages in `present` with what rules set and what the substrate fixes. Raises StageCircle.

    `learned` is what the shop's finished jobs say, by stage. The rest is remembered: none of it may change.
    """
    learned = learned or {}
    template = template_of(pack, present, settings, properties, measured(job))
    sizes = {name: sized_for(ready, job, learned.get(name)) for name, ready in template.ready.items()}
    return Arrangement(sizes, template.air_c, template.windows, template.lags)
