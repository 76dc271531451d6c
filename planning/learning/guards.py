"""Reports that nothing is learned from: what cannot be, and what lies too far off to be work.

A report says how long a stage took; a clock says how long it ran. Where they differ, the clock was left
running, was read in another unit, or somebody mistyped, and one such report would outweigh thirty good
ones. It is kept with its reason, as the record of what was said.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from math import log, sqrt
from statistics import NormalDist, median

from planning.learning.model import Reason, Spell
from planning.learning.posterior import Sums

LONGEST_INTO_THE_NIGHT = timedelta(hours=6)
"""A late shift may work over midnight; a spell over midnight that is longer is a clock nobody stopped."""

MOST_TIMES = 20.0
"""Shops and jobs differ by a factor of a few. Minutes taken for hours, or seconds for minutes, are 60."""

FAR_SPREADS = 4.0
"""A good job lies so far from the median once in some 16 000, were its logarithm normal."""

NEVER_FAR = log(3)
"""Within a factor of three nothing is far off, however alike the jobs of a stage are."""

MOST_STANDING = 500

NOTHING = Sums()

_CATALOGUE = (0.0, 0.0)
"""The catalogue's median counts like two reports, so that a first one alone proves nothing."""

_MAD_TO_SIGMA = 1.4826
"""The standard deviation of a normal distribution is so many times its median absolute deviation."""


def impossible(spell: Spell, predicted_min: float) -> Reason | None:
    """Why a report can't be right by itself, or None; `predicted_min` is the catalogue's median."""
    if spell.minutes <= 0:
        timed = spell.work_min is None and spell.minutes < 0
        return Reason.ENDS_BEFORE_START if timed else Reason.NO_TIME
    if _across_a_night(spell):
        return Reason.ACROSS_A_NIGHT
    if predicted_min <= 0:
        return Reason.NO_PREDICTION
    ratio = spell.minutes / predicted_min
    return None if 1 / MOST_TIMES <= ratio <= MOST_TIMES else Reason.ANOTHER_UNIT


def far_off(
    observations: Sequence[float], catalogue_spread: float, removed: Sums = NOTHING
) -> tuple[bool, ...]:
    """For each logarithm of actual / predicted work of one stage, whether it is far from all the others.

    Far is more than four times the spread from the median, where the spread is the catalogue's or the
    shop's own, whichever is larger. The shop's is taken from the median absolute deviation, which, like the
    median, a minority of bad reports cannot carry away (P. J. Huber, Robust Statistics, 1981; from memory).
    All reports are judged anew with each, in no order: a lone one that is far off counts once others bear
    it out. Reports that are no longer kept bear others out by what they add up to, `removed`.
    """
    known = [*_CATALOGUE, *_standing_for(removed), *observations]
    middle = median(known)
    own = _MAD_TO_SIGMA * median(abs(value - middle) for value in known)
    limit = max(FAR_SPREADS * max(catalogue_spread, own), NEVER_FAR)
    return tuple(abs(value - middle) > limit for value in observations)


def _standing_for(sums: Sums) -> list[float]:
    """Quantiles of a normal distribution with the mean and the spread of observations, as many as they were.

    Not more than MOST_STANDING, which are enough to say where the middle is.
    """
    if not sums.count:
        return []
    mean, count = sums.total / sums.count, min(sums.count, MOST_STANDING)
    deviation = sqrt(max(0.0, sums.squares / sums.count - mean * mean))
    return NormalDist(mean, deviation).quantiles(count + 1) if deviation else [mean] * count


def _across_a_night(spell: Spell) -> bool:
    start, end = spell.started_at, spell.ended_at
    if start is None or end is None:
        return False
    return end - start > LONGEST_INTO_THE_NIGHT and end.astimezone(start.tzinfo).date() > start.date()
