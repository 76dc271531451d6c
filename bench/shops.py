"""Invented shops whose true speeds and spreads are known, and what is learned of them; seeded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log
from random import Random
from statistics import NormalDist, fmean

from planning.learning.guards import far_off, impossible
from planning.learning.learning import learned_by_stage
from planning.learning.model import Learned, Spell
from planning.learning.posterior import Sums, sums_of
from planning.student import student_quantile

CATALOGUE_SPREAD = 0.3
STAGES = 12
PREDICTED_MIN = (4.0, 60.0)

LEVEL_80, LEVEL_90 = NormalDist().inv_cdf(0.8), NormalDist().inv_cdf(0.9)


@dataclass(frozen=True)
class Kind:
    """Shops of one kind: the bounds of how much longer than the catalogue they take and of their spread.

    `apart` is how far the logarithms of their stages' speeds lie from the shop's (standard deviation),
    `bad` the share of reports that are gross errors.
    """

    about: str
    times: tuple[float, float]
    spread: tuple[float, float]
    apart: float = 0.12
    bad: float = 0.0


KINDS = (
    Kind("like the catalogue", (1.0, 1.0), (0.3, 0.3)),
    Kind("mixed: speed and spread of their own", (0.65, 1.5), (0.2, 0.42)),
    Kind("slow: 1.6 times the catalogue", (1.6, 1.6), (0.3, 0.3)),
    Kind("fast and even: 0.7 times, two thirds of the spread", (0.7, 0.7), (0.2, 0.2)),
    Kind("uneven: one and a half times the spread", (1.2, 1.2), (0.45, 0.45)),
    Kind("mixed, 5 % gross errors in the reports", (0.65, 1.5), (0.2, 0.42), bad=0.05),
)


@dataclass(frozen=True)
class TrueStage:
    """How a stage really goes: the logarithm of actual / predicted work is normal with these."""

    mean: float
    spread: float


@dataclass(frozen=True)
class Held:
    """One learned stage held against the truth.

    `inside`: the share of fresh jobs from P10 to P90; `under`: that under P80; `width`: P90 - P10 of the
    logarithm, as a multiple of the true one; `off`: how far the median is from the true one (logarithm).
    """

    inside: float
    under: float
    width: float
    off: float


def held(kind: Kind, jobs: int, shops: int, seed: int = 20417) -> Held:
    """Means over all stages of so many shops after `jobs` reported jobs a stage; 0 jobs: the catalogue."""
    random = Random(seed)
    each = [found for _ in range(shops) for found in _shop(random, kind, jobs)]
    inside, under, width, off = (
        fmean(getattr(found, name) for found in each) for name in ("inside", "under", "width", "off")
    )
    return Held(inside, under, width, off)


def _shop(random: Random, kind: Kind, jobs: int) -> Iterator[Held]:
    speed = log(random.uniform(*kind.times))
    truth = {
        str(number): TrueStage(random.gauss(speed, kind.apart), random.uniform(*kind.spread))
        for number in range(STAGES)
    }
    seen = {name: _seen(random, stage, kind.bad, jobs) for name, stage in truth.items()}
    known = learned_by_stage(seen, {}, dict.fromkeys(truth, CATALOGUE_SPREAD))
    catalogue = Learned(1.0, CATALOGUE_SPREAD, float("inf"), 0)
    for name, stage in truth.items():
        yield _held(stage, known.get(name, catalogue))


def _seen(random: Random, stage: TrueStage, bad: float, jobs: int) -> Sums:
    """The sums over the reports that the guards let through."""
    observed = []
    for _ in range(jobs):
        predicted_min = random.uniform(*PREDICTED_MIN)
        work_min = predicted_min * exp(random.gauss(stage.mean, stage.spread))
        if random.random() < bad:
            work_min = _mistaken(random, work_min)
        if impossible(Spell(work_min), predicted_min) is None:
            observed.append(log(work_min / predicted_min))
    far = far_off(observed, CATALOGUE_SPREAD)
    return sums_of(value for value, is_far in zip(observed, far, strict=True) if not is_far)


def _mistaken(random: Random, work_min: float) -> float:
    """Minutes as hours, hours as minutes, a clock left running, a digit too many, a stage forgotten."""
    return random.choice((60 * work_min, work_min / 60, work_min + 15 * 60, 10 * work_min, 0.0))


def _held(truth: TrueStage, known: Learned) -> Held:
    middle = log(known.factor)
    tenth, eightieth = (known.spread * student_quantile(level, known.degrees) for level in (0.9, 0.8))
    fresh = NormalDist(truth.mean, truth.spread)
    return Held(
        inside=fresh.cdf(middle + tenth) - fresh.cdf(middle - tenth),
        under=fresh.cdf(middle + eightieth),
        width=tenth / (LEVEL_90 * truth.spread),
        off=abs(middle - truth.mean),
    )
