"""From a stage of the catalogue to a planned stage: parameters, durations, wait and wording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from planning.job import Job
from planning.learning.model import Learned
from planning.materials.areas import covered_m2
from planning.model import PlannedStage
from planning.parameters import filled_in, number, text
from planning.rounding import tenth_up
from planning.timing.conditions import NOTHING_KNOWN, Conditions, within_heat_limit
from planning.timing.durations import Effort, WorkTime, effort_of, work_time
from planning.timing.model import Bake, PotLifeUse, Quantiles, StageWindow
from planning.timing.waiting import waiting
from planning.timing.windows import tightest
from rules.pack import ParameterValue, Stage


@dataclass(frozen=True)
class ReadyStage:
    """A stage of the catalogue with all that does not go by the size of the job; the wait up to a tenth."""

    stage: Stage
    parameters: Mapping[str, ParameterValue]
    wait_min: float
    wait_note: str | None
    bake: Bake | None
    instructions: tuple[str, ...]
    abrasive: str | None
    coats: int | None
    effort: Effort


class SizedStage(NamedTuple):
    """A stage made ready, the area that it covers (None: not known), and its work for one job.

    `by_size_min` go by size in each coat or pass. `work_min` are the quantiles of `work`; `catalogue` is the
    work without what was learned.
    """

    ready: ReadyStage
    area_m2: float | None
    by_size_min: float
    work: WorkTime
    work_min: Quantiles
    catalogue: WorkTime

    @property
    def stage(self) -> Stage:
        return self.ready.stage

    @property
    def parameters(self) -> Mapping[str, ParameterValue]:
        return self.ready.parameters

    @property
    def wait_min(self) -> float:
        return self.ready.wait_min

    @property
    def bake(self) -> Bake | None:
        return self.ready.bake


def made_ready(
    stage: Stage, parameters: Mapping[str, ParameterValue], conditions: Conditions = NOTHING_KNOWN
) -> ReadyStage:
    """A stage with its wait and wording in these conditions.

    No parameter of the answer asks for more heat than the plastic takes.
    """
    parameters, guarded = within_heat_limit(parameters, conditions.heat_limit_c)
    wait = waiting(stage.wait, parameters, conditions)
    coats = number(parameters, "coats")
    return ReadyStage(
        stage=stage,
        parameters=parameters,
        wait_min=tenth_up(wait.minutes),
        wait_note=" ".join(filter(None, (guarded, wait.note))) or None,
        bake=wait.bake,
        instructions=tuple([filled_in(line, parameters) for line in stage.instructions]),
        abrasive=text(parameters, "abrasive"),
        coats=None if coats is None else int(coats),
        effort=effort_of(stage.work, parameters),
    )


def sized_for(ready: ReadyStage, job: Job, learned: Learned | None = None) -> SizedStage:
    """The stage with its work for the size of `job`, by what was `learned` of it."""
    effort = ready.effort
    area_m2 = covered_m2(effort.cover, job.spot, job.area_m2)
    by_size_min = effort.by_size_min(job, area_m2)
    median_min, spread = effort.median_min(by_size_min), effort.work.spread
    work = work_time(median_min, spread, learned)
    catalogue = work if learned is None else work_time(median_min, spread)
    return SizedStage(ready, area_m2, by_size_min, work, work.quantiles(), catalogue)


def sized(
    stage: Stage,
    parameters: Mapping[str, ParameterValue],
    job: Job,
    conditions: Conditions = NOTHING_KNOWN,
    learned: Learned | None = None,
) -> SizedStage:
    """Work and wait of a stage for the size of `job` in these conditions, by what was `learned` of it."""
    return sized_for(made_ready(stage, parameters, conditions), job, learned)


def planned(
    size: SizedStage,
    position: int,
    windows: tuple[StageWindow, ...] = (),
    cautions: tuple[str, ...] = (),
    because: tuple[str, ...] = (),
    held: tuple[str, ...] = (),
    pot_life: PotLifeUse | None = None,
) -> PlannedStage:
    """The stage as the procedure shows it."""
    ready, stage = size.ready, size.ready.stage
    # In the order of the fields: with their names, making so many tuples takes more than twice as long.
    return PlannedStage(
        position,
        stage.id,
        stage.title,
        stage.phase,
        stage.resource,
        stage.labour,
        stage.materials,
        stage.check,
        ready.parameters,
        ready.instructions,
        ready.abrasive,
        ready.coats,
        ready.wait_min,
        ready.wait_note,
        ready.bake,
        size.work_min,
        size.work.jobs,
        size.catalogue,
        tightest(windows) if windows else None,
        windows,
        cautions,
        because,
        held,
        pot_life,
    )
