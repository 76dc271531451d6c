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

from planning.job import Job
from planning.learning.model import Learned
from planning.materials.areas import covered_m2, spot_of
from planning.parameters import Parameters, number
from planning.rounding import tenth
from planning.student import student_quantile
from planning.timing.difficulty import difficulty
from planning.timing.model import Quantiles
from rules.pack import Work

LEVELS = (0.50, 0.80, 0.95)


@dataclass(frozen=True)
class WorkTime:
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
        p50, p80, p95 = _factors(self.spread, self.degrees)
        median_min = self.median_min
        return Quantiles(tenth(median_min * p50), tenth(median_min * p80), tenth(median_min * p95))


def work_time(work: Work, parameters: Parameters, job: Job, learned: Learned | None = None) -> WorkTime:
    """The catalogue's work for the size of `job`, or what the shop `learned` of it; the median to a tenth."""
    median_min = median_work_min(work, parameters, job)
    if learned is None:
        return WorkTime(tenth(median_min), work.spread)
    return WorkTime(tenth(median_min * learned.factor), learned.spread, learned.degrees, learned.jobs)


def median_work_min(work: Work, parameters: Parameters, job: Job) -> float:
    """Median minutes: coats x passes x (fixed + difficulty x (per m2 x area + per dm x length x count)).

    The area is what the stage covers (`planning.materials.areas`). A coat or pass that the stage does not
    have counts once; so does a damage that is not counted. An area or length that the pack does not declare
    counts nothing. The difficulty is that of `planning.timing.difficulty`; it lengthens what goes by size,
    not the setting up.
    """
    spot = spot_of(job)
    area_m2 = 0.0 if job.area_m2 is None else covered_m2(parameters, spot, job.area_m2) or 0.0
    by_size = work.per_m2_min * area_m2 + work.per_dm_min * spot.length_mm / 100 * spot.count
    once = work.fixed_min + difficulty(work.harder, job.said) * by_size
    for factor in (number(parameters, "coats"), number(parameters, "passes")):
        once *= 1.0 if factor is None else factor
    return once


@lru_cache(maxsize=1024)
def _factors(spread: float, degrees: float) -> tuple[float, ...]:
    """By how much the quantiles lie above the median."""
    return tuple(exp(spread * student_quantile(level, degrees)) for level in LEVELS)
