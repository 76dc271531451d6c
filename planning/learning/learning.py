"""From the finished jobs of a shop to what its stages take.

Learned is from the logarithm of the actual work / the median that the catalogue predicted for that very
job, so that size, coats and passes are taken out. There are two levels: the shop as a whole has a speed,
which is pooled toward the catalogue, and each of its stages has one, which is pooled toward the shop's.
Given the variance of a stage, its mean is normal about the shop's with variance / KAPPA, and the shop's
about 0 with variance / KAPPA_SHOP; so the mean of n jobs of a stage counts n KAPPA / (n + KAPPA) toward the
shop's speed, which is then taken as known.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp

from planning.learning.model import Learned
from planning.learning.posterior import Belief, Sums, updated

# The strengths were chosen by the calibration of invented shops that `python -m bench calibration` prints.
# Stages differ from their shop by about as much as one job differs from the next, and shops from the
# catalogue likewise: one job's worth each.
KAPPA = 1.0
KAPPA_SHOP = 1.0

# How many jobs the catalogue's spread is worth. A shop whose own spread is half of that has intervals some
# 12 % too wide after thirty jobs with 2, and 16 % with 3; with 1, the 95th percentile after a single job
# lies 2.9 spreads out instead of 2.4.
NU = 2.0


def shop_speed(seen: Mapping[str, Sums]) -> float:
    """The logarithm of how much longer the shop takes than the catalogue says; 0 where nothing is known."""
    weights = {stage: KAPPA * sums.count / (KAPPA + sums.count) for stage, sums in seen.items()}
    pull = sum(weights[stage] * sums.total / sums.count for stage, sums in seen.items() if sums.count)
    return pull / (KAPPA_SHOP + sum(weights.values()))


def learned(seen: Sums, speed: float, catalogue_spread: float) -> Learned | None:
    """What is known of a stage after its jobs, in a shop of this `speed`; None without any job.

    `catalogue_spread` is the standard deviation of the logarithm of the work.
    """
    if seen.count == 0:
        return None
    belief = updated(Belief(speed, KAPPA, NU, catalogue_spread**2), seen)
    return Learned(exp(belief.mean), belief.scale, belief.nu, seen.count)


def learned_by_stage(
    seen: Mapping[str, Sums], frozen: Mapping[str, float], spreads: Mapping[str, float]
) -> dict[str, Learned]:
    """What is known of every stage with jobs that has one of the catalogue's `spreads`.

    `frozen` are stages whose estimate is held: the speed that the shop had then stands for the one it has.
    """
    speed = shop_speed(seen)
    found = {
        stage: learned(seen[stage], frozen.get(stage, speed), spreads[stage])
        for stage in seen
        if stage in spreads
    }
    return {stage: each for stage, each in found.items() if each is not None}
