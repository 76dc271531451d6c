"""Hands-on time as a distribution.

The logarithm of a stage's work is Student t about the logarithm of the median, with scale `spread`, so
the quantile p is median x exp(spread x t(p)). What the catalogue says is the case of infinitely many
degrees of freedom, in which the work is lognormal (NIST/SEMATECH e-Handbook of Statistical Methods,
1.3.6.6.9); what was learned from few finished jobs has few degrees and longer tails. The works of
different stages are taken as independent.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, inf
from typing import NamedTuple

from planning.job import Job
from planning.learning.model import Learned
from planning.materials.areas import Cover, cover_of, covered_m2
from planning.parameters import Parameters, number
from planning.rounding import tenth
from planning.student import student_quantile
from planning.timing.difficulty import difficulty
from planning.timing.model import Quantiles
from rules.pack import Work

LEVELS = (0.50, 0.80, 0.95)


class WorkTime(NamedTuple):
    """The hands-on time of one stage: `jobs` finished jobs stand behind it, 0 for the catalogue's.

    Log work is Student t with `degrees` degrees of freedom about log(`median_min`), scale `spread`;
    infinite `degrees`: normal.
    """

    median_min: float
    spread: float
    degrees: float = inf
    jobs: int = 0

    def quantiles(self) -> Quantiles:
        """In tenths of a minute."""
        return _quantiles(self.median_min, self.spread, self.degrees)


@dataclass(frozen=True)
class Effort:
    """What the work of a stage goes by: the catalogue's figures, what it covers, coats and passes."""

    work: Work
    cover: Cover
    coats: float
    passes: float

    def median_min(self, by_size_min: float) -> float:
        """The minutes of `median_work_min`, of which so many go by size in each coat or pass."""
        return (self.work.fixed_min + by_size_min) * self.coats * self.passes

    def by_size_min(self, job: Job, area_m2: float | None) -> float:
        """What goes by size in each coat or pass; the stage covers this area, None: not known."""
        work, spot = self.work, job.spot
        painted_m2 = 0.0 if job.area_m2 is None or area_m2 is None else area_m2
        by_size = work.per_m2_min * painted_m2 + work.per_dm_min * spot.length_mm / 100 * spot.count
        return difficulty(work.harder, job.said) * by_size if work.harder else by_size


def effort_of(work: Work, parameters: Parameters) -> Effort:
    """The effort of a stage; a coat or pass that it does not have counts once."""
    coats, passes = number(parameters, "coats"), number(parameters, "passes")
    return Effort(
        work, cover_of(parameters), 1.0 if coats is None else coats, 1.0 if passes is None else passes
    )


def median_work_min(work: Work, parameters: Parameters, job: Job) -> float:
    """Median minutes: coats x passes x (fixed + difficulty x (per m2 x area + per dm x length x count)).

    The area is what the stage covers (`planning.materials.areas`). A damage that is not counted counts once.
    An area or length that the pack does not declare counts nothing. The difficulty is that of
    `planning.timing.difficulty`; it lengthens what goes by size, not the setting up.
    """
    effort = effort_of(work, parameters)
    area_m2 = covered_m2(effort.cover, job.spot, job.area_m2)
    return effort.median_min(effort.by_size_min(job, area_m2))


def work_time(median_min: float, spread: float, learned: Learned | None = None) -> WorkTime:
    """The catalogue's work about this median, or what the shop `learned` of it; the median to a tenth."""
    if learned is None:
        return WorkTime(tenth(median_min), spread)
    return WorkTime(tenth(median_min * learned.factor), learned.spread, learned.degrees, learned.jobs)


@lru_cache(maxsize=8192)
def _quantiles(median_min: float, spread: float, degrees: float) -> Quantiles:
    """Remembered: medians are in tenths, so that the same few come again and again."""
    return Quantiles(
        *[tenth(median_min * exp(spread * student_quantile(level, degrees))) for level in LEVELS]
    )
