"""How long, and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import NamedTuple
from zoneinfo import ZoneInfo


def moment_at(start_at: datetime | None, zone: ZoneInfo | None, minute: float) -> datetime | None:
    """So many minutes after `start_at`, in the zone where there is one; None without a start."""
    if start_at is None:
        return None
    if zone is None and isinstance(start_at.tzinfo, timezone):
        return start_at + timedelta(minutes=minute)
    # Summed in UTC: on a wall clock a sum would not see that the clock is put forward or back.
    at = start_at.astimezone(UTC) + timedelta(minutes=minute)
    return at.astimezone(zone or start_at.tzinfo)


class Quantiles(NamedTuple):
    """A duration in minutes: the median, and what 80 % and 95 % of jobs stay under."""

    p50: float
    p80: float
    p95: float


@dataclass(frozen=True)
class StageWindow:
    """The stage starts between these minutes after the work of stage `after` ended.

    `not_before_min` is never less than a wait that holds the stage back. `not_after_min` None: no
    latest moment. `if_missed` is the stage to go back to. `note` says where a bound was taken outside the
    temperatures at which it is known. `kept_probability` is the part of jobs whose works leave room to keep
    it, `sentence` what a technician follows; both are filled in when the job is scheduled.
    """

    after: str
    not_before_min: float
    not_after_min: float | None
    if_missed: str | None
    note: str | None = None
    kept_probability: float = 1.0
    sentence: str = ""


@dataclass(frozen=True)
class Bake:
    """Forced drying: minutes to warm up, at `temperature_c`, and to cool until the part may be handled."""

    temperature_c: float
    heat_up_min: float
    hold_min: float
    cool_down_min: float


@dataclass(frozen=True)
class PotLifeUse:
    """A material that is mixed `mixes` times, `batch_ml` each; None where the quantity is not known.

    A mix can be used for `life_min`, and is used up in `use_min` on a slow day (95 % of jobs).
    """

    material: str
    life_min: float
    use_min: float
    batch_ml: float | None
    mixes: int
    note: str | None


class TimedStage(NamedTuple):
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
class PutOff:
    """A stage that is not begun at `from_min`, when its turn comes, but at `until_min` at the earliest.

    `window` is the stage that would else start too late after it; None where the stage itself finds the door
    closed. The first door that is in the way is closed from `closed_from_min` (None: since before the job)
    until `closed_until_min`; both None where it is a wait that is in the way. `told` says it in a sentence.
    """

    stage: str
    from_min: float
    until_min: float
    window: str | None
    closed_from_min: float | None
    closed_until_min: float | None
    told: str


@dataclass(frozen=True)
class Timeline:
    """The earliest schedule. `start_at` is the caller's start, with its offset, or None.

    `zone` is that of the calendar, `closed` its closed times until the finish; `put_off` are the stages that
    do not begin when their turn comes.

    `held` are the stages that are not begun before the place is made fit by hand; their times, and those
    of all that follow, hold if it is by then.
    """

    start_at: datetime | None
    finish_at: datetime | None
    elapsed_min: float
    stages: tuple[TimedStage, ...]
    held: tuple[str, ...] = ()
    zone: ZoneInfo | None = None
    closed: tuple[tuple[float, float], ...] = ()
    put_off: tuple[PutOff, ...] = ()

    def moment(self, minute: float) -> datetime | None:
        """A minute of the job on the calendar; in the calendar's zone, else with the offset of the start."""
        return moment_at(self.start_at, self.zone, minute)


@dataclass(frozen=True)
class FinishBy:
    """When half, 80 % and 95 % of jobs are finished that begin at the given start."""

    p50: datetime
    p80: datetime
    p95: datetime


@dataclass(frozen=True)
class Totals:
    """Labour in hours (tenths) by category, and the minutes behind all of it, `work_at_median_min`.

    `work_min` is all hands-on work as a distribution, `elapsed_min` the time from start to finish with waits
    and closed doors; both hold what is done again where a window is missed. `finish_at` is None without a
    start. `all_windows_kept_probability` is the part of jobs that miss none.
    """

    labour_hours: Mapping[str, float]
    work_at_median_min: float
    work_min: Quantiles
    elapsed_min: Quantiles
    finish_at: FinishBy | None = None
    all_windows_kept_probability: float = 1.0
