"""What planning answers: a procedure and its stages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from planning.costs.model import Cost, Rates
from planning.emissions.model import Emissions
from planning.materials.model import MaterialNeed, PickLine
from planning.place.model import PlaceReport
from planning.timing.calendar import Calendar
from planning.timing.durations import WorkTime
from planning.timing.model import Bake, PotLifeUse, Quantiles, StageWindow, Timeline, Totals
from rules.decision import Reason
from rules.intake import Assumption
from rules.pack import Caution, Check, Disposition, ParameterValue


class PlannedStage(NamedTuple):
    """One stage of a procedure; `position` counts from 1. `because` are ids of rules.

    `window` is the tightest of `windows` (the smallest `not_after_min`); None where there is none.
    `abrasive` is a P-grade. `wait_note` says when a wait was reckoned outside its kinetic model's validity
    range or at another temperature than the air's. `bake` is what a wait in heat is made up of.
    `pot_life` is of the mixed material that leaves least time; None where nothing is mixed. `held` says
    what of the place has to be mended before the stage is begun; empty where nothing has, or an earlier
    stage sees to it.
    `jobs` finished jobs of the shop stand behind `work_min`; 0: it is the catalogue's, and `catalogue` says
    what that is in either case.
    """

    position: int
    stage: str
    title: str
    phase: str
    resource: str
    labour: str
    materials: tuple[str, ...]
    check: Check | None
    parameters: Mapping[str, ParameterValue]
    instructions: tuple[str, ...]
    abrasive: str | None
    coats: int | None
    wait_min: float
    wait_note: str | None
    bake: Bake | None
    work_min: Quantiles
    jobs: int
    catalogue: WorkTime
    window: StageWindow | None
    windows: tuple[StageWindow, ...]
    cautions: tuple[str, ...]
    because: tuple[str, ...]
    held: tuple[str, ...]
    pot_life: PotLifeUse | None


@dataclass(frozen=True)
class Terms:
    """What a line item says beside its facts. A `calendar` needs `start_at`."""

    start_at: datetime | None = None
    jurisdiction: str | None = None
    rates: Rates | None = None
    calendar: Calendar | None = None


@dataclass(frozen=True)
class AskedCaution:
    """A caution with the rules that asked for it and the stages that carry it."""

    caution: Caution
    stages: tuple[str, ...]
    because: tuple[str, ...]


@dataclass(frozen=True)
class Procedure:
    """The whole answer to one line item; `place` is None where nothing is coated or no climate known."""

    disposition: Disposition
    reasons: tuple[Reason, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[AskedCaution, ...]
    stages: tuple[PlannedStage, ...]
    timeline: Timeline
    totals: Totals
    materials: tuple[MaterialNeed, ...]
    emissions: Emissions
    cost: Cost | None
    place: PlaceReport | None = None
    pick_list: tuple[PickLine, ...] = ()
