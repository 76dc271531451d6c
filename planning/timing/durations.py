"""Hands-on time as a distribution.

The work of a stage is lognormal: its logarithm is normal about the logarithm of the median with
standard deviation `spread`, so the quantile p is median x exp(spread x z(p)), z the quantile of the
standard normal distribution (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.9). The works
of different stages are taken as independent.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import exp
from random import Random
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from planning.job import Job
from planning.parameters import Parameters, number
from planning.rounding import tenth
from planning.timing.model import Quantiles
from rules.pack import Work

SAMPLES = 4000

_LEVELS = (0.50, 0.80, 0.95)


def median_work_min(work: Work, parameters: Parameters, job: Job) -> float:
    """Median minutes: coats x passes x (fixed + per m2 x area + per dm x damage length x count).

    A coat or pass that the stage does not have counts once; so does a damage that is not counted. An
    area or length that the pack does not declare counts nothing.
    """
    length_dm = (job.damage_length_mm or 0.0) / 100
    count = 1.0 if job.damage_count is None else job.damage_count
    once = work.fixed_min + work.per_m2_min * (job.area_m2 or 0.0) + work.per_dm_min * length_dm * count
    for factor in (number(parameters, "coats"), number(parameters, "passes")):
        once *= 1.0 if factor is None else factor
    return once


def lognormal(median_min: float, spread: float) -> Quantiles:
    """The quantiles of one stage's work, in tenths of a minute."""
    scores = [NormalDist().inv_cdf(level) for level in _LEVELS]
    return Quantiles(*(tenth(median_min * exp(spread * score)) for score in scores))


def work_samples(medians_min: Sequence[float], spreads: Sequence[float]) -> NDArray[np.float64]:
    """A Latin hypercube sample of the works in minutes, shape (stages, SAMPLES); always the same one.

    Source of the method: McKay, Beckman and Conover, Technometrics 21 (1979) 239-245.
    """
    samples = np.empty((len(spreads), SAMPLES))
    for row, (median_min, spread) in enumerate(zip(medians_min, spreads, strict=True)):
        samples[row] = median_min * np.exp(spread * _normal_scores(row))
    return samples


def quantiles(samples: NDArray[np.float64]) -> Quantiles:
    """The quantiles of sampled minutes (one-dimensional), in tenths of a minute."""
    return Quantiles(*(tenth(value) for value in np.quantile(samples, _LEVELS).tolist()))


@lru_cache(maxsize=128)
def _normal_scores(position: int) -> NDArray[np.float64]:
    """Normal scores of one stage: one from each of SAMPLES equally likely strata, shuffled.

    Sorting by `random()` shuffles alike on every version of Python; `shuffle` does not promise to.
    """
    draw = Random(position)
    scores = _strata()[np.argsort([draw.random() for _ in range(SAMPLES)], kind="stable")]
    scores.flags.writeable = False
    return scores


@lru_cache(maxsize=1)
def _strata() -> NDArray[np.float64]:
    """The normal score in the middle of each stratum, ascending."""
    normal = NormalDist()
    return np.array([normal.inv_cdf((stratum + 0.5) / SAMPLES) for stratum in range(SAMPLES)])
