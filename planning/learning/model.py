"""What a shop reports of its finished jobs, and what was learned of one of its stages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from math import exp, log

from planning.student import student_quantile


class Reason(Enum):
    """Why a report is kept but nothing is learned from it."""

    NO_TIME = "no_time"
    ENDS_BEFORE_START = "ends_before_start"
    ACROSS_A_NIGHT = "across_a_night"
    NO_PREDICTION = "no_prediction"
    ANOTHER_UNIT = "another_unit"
    FAR_OFF = "far_off"


@dataclass(frozen=True)
class Spell:
    """How long a stage took: `work_min` minutes of hands-on time, or from `started_at` to `ended_at`.

    One of the two is given; the times carry their offset.
    """

    work_min: float | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None

    @property
    def minutes(self) -> float:
        """Zero or less where the report cannot be right. Raises ValueError where nothing is given."""
        if self.work_min is not None:
            return self.work_min
        if self.started_at is None or self.ended_at is None:
            raise ValueError("a spell has minutes, or a start and an end")
        return (self.ended_at - self.started_at).total_seconds() / 60


@dataclass(frozen=True)
class Learned:
    """The shop's median is the catalogue's x `factor`.

    The logarithm of the work is Student t about the logarithm of that median, with scale `spread` and
    `degrees` degrees of freedom. The mean of such a work is infinite, so none is ever told; quantiles are.
    `jobs` finished jobs stand behind it, at least one.
    """

    factor: float
    spread: float
    degrees: float
    jobs: int

    def quantile_factor(self, level: float) -> float:
        """What the share `level` of jobs stays under, as a multiple of the catalogue's median."""
        return exp(log(self.factor) + self.spread * student_quantile(level, self.degrees))
