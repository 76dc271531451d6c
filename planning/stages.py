"""From a stage of the catalogue to a planned stage: parameters, durations, wait and wording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planning.job import Job
from planning.model import PlannedStage
from planning.parameters import filled_in, number, text
from planning.rounding import tenth_up
from planning.timing.durations import lognormal, median_work_min
from planning.timing.model import Quantiles, StageWindow
from planning.timing.waiting import waiting
from planning.timing.windows import tightest
from rules.pack import ParameterValue, Stage


@dataclass(frozen=True)
class SizedStage:
    """A stage of the catalogue with its parameters, work and wait (up to a tenth) for one job."""

    stage: Stage
    parameters: Mapping[str, ParameterValue]
    work_min: Quantiles
    wait_min: float
    wait_note: str | None


def sized(stage: Stage, parameters: Mapping[str, ParameterValue], job: Job) -> SizedStage:
    """Work and wait of a stage for the size and the place of `job`."""
    wait = waiting(stage.wait, parameters, job.air_temperature_c)
    median_min = median_work_min(stage.work, parameters, job)
    work_min = lognormal(median_min, stage.work.spread)
    return SizedStage(stage, parameters, work_min, tenth_up(wait.minutes), wait.note)


def planned(
    sized_stage: SizedStage, position: int, windows: tuple[StageWindow, ...], because: tuple[str, ...]
) -> PlannedStage:
    """The stage as the procedure shows it."""
    stage, parameters = sized_stage.stage, sized_stage.parameters
    coats = number(parameters, "coats")
    return PlannedStage(
        position=position,
        stage=stage.id,
        title=stage.title,
        phase=stage.phase,
        instructions=tuple(filled_in(line, parameters) for line in stage.instructions),
        resource=stage.resource,
        labour=stage.labour,
        work_min=sized_stage.work_min,
        wait_min=sized_stage.wait_min,
        wait_note=sized_stage.wait_note,
        window=tightest(windows),
        windows=windows,
        abrasive=text(parameters, "abrasive"),
        coats=None if coats is None else int(coats),
        parameters=parameters,
        materials=stage.materials,
        check=stage.check,
        cautions=stage.cautions,
        because=because,
    )
