"""How long, and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Quantiles:
    """A duration in minutes: the median, and what 80 % and 95 % of jobs stay under."""

    p50: float
    p80: float
    p95: float


@dataclass(frozen=True)
class StageWindow:
    """The stage starts between these minutes after the work of stage `after` ended.

    `not_before_min` is never less than a wait that holds the stage back. `not_after_min` None: no
    latest moment. `if_missed` is the stage to go back to.
    """

    after: str
    not_before_min: float
    not_after_min: float | None
    if_missed: str | None


@dataclass(frozen=True)
class TimedStage:
    """When a stage can start, in minutes from the start of the job, at median durations.

    `latest_start_min` keeps the finish of the whole procedure; `slack_min` is latest less earliest.
    `ready_min` is when its wait is over.
    """

    position: int
    stage: str
    earliest_start_min: float
    latest_start_min: float
    slack_min: float
    work_end_min: float
    ready_min: float
    critical: bool


@dataclass(frozen=True)
class Timeline:
    """The earliest schedule. `start_at` is the caller's start, with its offset, or None."""

    start_at: datetime | None
    finish_at: datetime | None
    elapsed_min: float
    stages: tuple[TimedStage, ...]


@dataclass(frozen=True)
class Totals:
    """Labour in hours (tenths) by category; `elapsed_min` is the distribution of the critical path."""

    labour_hours: Mapping[str, float]
    work_min: Quantiles
    elapsed_min: Quantiles
