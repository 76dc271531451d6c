"""What planning answers: a procedure, its stages, its timeline and its totals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from rules.decision import Reason
from rules.intake import Assumption
from rules.pack import Caution, Check, Disposition, ParameterValue


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
class PlannedStage:
    """One stage of a procedure; `position` counts from 1. `because` are ids of rules.

    `window` is the tightest of `windows` (the smallest `not_after_min`); None where there is none.
    `abrasive` is a P-grade. `wait_note` says when a wait was taken at the edge of its kinetic
    model's validity range or at another temperature than the air's.
    """

    position: int
    stage: str
    title: str
    phase: str
    instructions: tuple[str, ...]
    resource: str
    labour: str
    work_min: Quantiles
    wait_min: float
    wait_note: str | None
    window: StageWindow | None
    windows: tuple[StageWindow, ...]
    abrasive: str | None
    coats: int | None
    parameters: Mapping[str, ParameterValue]
    materials: tuple[str, ...]
    check: Check | None
    cautions: tuple[str, ...]
    because: tuple[str, ...]


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


@dataclass(frozen=True)
class MaterialNeed:
    """How much of a material the stages use; None where no quantity can be reckoned."""

    material: str
    title: str
    kind: str
    stages: tuple[str, ...]
    quantity_ml: Decimal | None
    basis: str


@dataclass(frozen=True)
class Emissions:
    """Volatile organic compounds as applied, in grams, total convention (nothing subtracted)."""

    jurisdiction: str | None
    voc_total_g: Decimal
    convention: str
    limits: str


@dataclass(frozen=True)
class Cost:
    """Labour at the given rates against the given replacement price; None where not given."""

    currency: str
    labour: Mapping[str, Decimal]
    labour_total: Decimal
    replacement_part: Decimal | None
    replacement_lead_days: int | None
    not_included: tuple[str, ...]


@dataclass(frozen=True)
class Rates:
    """What the shop charges: money per hour by labour category, and the price of a new part."""

    currency: str
    labour_per_hour: Mapping[str, Decimal]
    replacement_part: Decimal | None = None
    replacement_lead_days: int | None = None


@dataclass(frozen=True)
class Terms:
    """What a line item says beside its facts."""

    start_at: datetime | None = None
    jurisdiction: str | None = None
    rates: Rates | None = None


@dataclass(frozen=True)
class AskedCaution:
    """A caution with the rules that asked for it and the stages that carry it."""

    caution: Caution
    stages: tuple[str, ...]
    because: tuple[str, ...]


@dataclass(frozen=True)
class PlaceReport:
    """Dew point, and how far the surface is above it (None: not known), for the stages that coat.

    `warning` says what to do when the margin is too small for coating, None when it is not.
    """

    stages: tuple[str, ...]
    dew_point_c: float
    surface_margin_k: float | None
    warning: str | None


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
