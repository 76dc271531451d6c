"""From a stage of the catalogue to a planned stage: parameters, durations, wait and wording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planning.job import Job
from planning.learning.model import Learned
from planning.model import PlannedStage
from planning.parameters import filled_in, number, text
from planning.rounding import tenth_up
from planning.timing.conditions import NOTHING_KNOWN, Conditions, within_heat_limit
from planning.timing.durations import WorkTime, work_time
from planning.timing.model import Bake, Quantiles, StageWindow
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


@dataclass(frozen=True)
class SizedStage:
    """A stage made ready, and its work for one job.

    `work_min` are the quantiles of `work`; `catalogue` is the work without what was learned.
    """

    ready: ReadyStage
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
    )


def sized_for(ready: ReadyStage, job: Job, learned: Learned | None = None) -> SizedStage:
    """The stage with its work for the size of `job`, by what was `learned` of it."""
    work = work_time(ready.stage.work, ready.parameters, job, learned)
    catalogue = work if learned is None else work_time(ready.stage.work, ready.parameters, job)
    return SizedStage(ready, work, work.quantiles(), catalogue)


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
    size: SizedStage, position: int, windows: tuple[StageWindow, ...], because: tuple[str, ...]
) -> PlannedStage:
    """The stage as the procedure shows it."""
    ready, stage = size.ready, size.ready.stage
    return PlannedStage(
        position=position,
        stage=stage.id,
        title=stage.title,
        phase=stage.phase,
        instructions=ready.instructions,
        resource=stage.resource,
        labour=stage.labour,
        work_min=size.work_min,
        jobs=size.work.jobs,
        catalogue=size.catalogue,
        wait_min=ready.wait_min,
        wait_note=ready.wait_note,
        bake=ready.bake,
        window=tightest(windows),
        windows=windows,
        abrasive=ready.abrasive,
        coats=ready.coats,
        parameters=ready.parameters,
        materials=stage.materials,
        check=stage.check,
        cautions=stage.cautions,
        because=because,
    )
