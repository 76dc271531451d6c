"""What is kept out of learning, and that a few bad reports do no harm."""

from __future__ import annotations

from datetime import datetime
from math import log
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.shops import KINDS, Kind, held
from planning.learning.guards import MOST_TIMES, far_off, impossible
from planning.learning.model import Reason, Spell
from planning.learning.posterior import sums_of

OBSERVED = st.lists(st.floats(-3, 3), max_size=30)


def clocked(start: str, end: str) -> Spell:
    return Spell(started_at=datetime.fromisoformat(start), ended_at=datetime.fromisoformat(end))


@pytest.mark.parametrize(
    ("spell", "reason"),
    [
        (Spell(20.0), None),
        (Spell(0.0), Reason.NO_TIME),
        (Spell(-20.0), Reason.NO_TIME),
        (Spell(20.0 * 60), Reason.ANOTHER_UNIT),
        (Spell(20.0 / 60), Reason.ANOTHER_UNIT),
        (Spell(20.0 * MOST_TIMES), None),
        (Spell(20.0 / MOST_TIMES), None),
        (clocked("2027-03-02T08:15:00-06:00", "2027-03-02T08:40:00-06:00"), None),
        (clocked("2027-03-02T08:15:00-06:00", "2027-03-02T08:15:00-06:00"), Reason.NO_TIME),
        (clocked("2027-03-02T08:15:00-06:00", "2027-03-02T08:10:00-06:00"), Reason.ENDS_BEFORE_START),
        # The same moment in two offsets, an hour apart on the clock face.
        (clocked("2027-03-02T08:15:00-06:00", "2027-03-02T08:15:00-05:00"), Reason.ENDS_BEFORE_START),
        (clocked("2027-03-02T16:50:00-06:00", "2027-03-03T07:30:00-06:00"), Reason.ACROSS_A_NIGHT),
        (clocked("2027-03-02T23:40:00-06:00", "2027-03-03T00:20:00-06:00"), None),
        # One day in the shop, though the end is written in an offset where the next day has come.
        (clocked("2027-03-02T09:00:00-06:00", "2027-03-03T04:00:00+06:00"), Reason.ANOTHER_UNIT),
    ],
)
def test_what_cannot_be_is_told(spell: Spell, reason: Reason | None) -> None:
    assert impossible(spell, predicted_min=20.0) is reason


def test_nothing_is_learned_where_the_catalogue_expects_no_work() -> None:
    assert impossible(Spell(5.0), predicted_min=0.0) is Reason.NO_PREDICTION


@given(OBSERVED, st.randoms())
def test_the_judgement_does_not_depend_on_the_order(observed: list[float], random: Random) -> None:
    order = list(range(len(observed)))
    random.shuffle(order)
    judged = far_off(observed, 0.3)
    assert far_off([observed[place] for place in order], 0.3) == tuple(judged[place] for place in order)


@given(st.lists(st.floats(-log(3) / 2, log(3) / 2), min_size=1, max_size=30))
def test_jobs_within_a_factor_of_three_are_never_far_off(observed: list[float]) -> None:
    assert not any(far_off(observed, 0.05))


@given(st.lists(st.floats(-0.3, 0.3), min_size=8, max_size=20), st.sampled_from((-2.9, 2.9)))
def test_a_gross_error_among_ordinary_jobs_is_always_seen(observed: list[float], error: float) -> None:
    judged = far_off([*observed, error, error], 0.3)
    assert judged == (*(False for _ in observed), True, True)


def test_one_slow_job_is_doubted_and_two_alike_are_believed() -> None:
    assert far_off([log(5)], 0.3) == (True,)
    assert far_off([log(5), log(5.2)], 0.3) == (False, False)


def test_a_slow_job_is_believed_where_reports_that_are_gone_bear_it_out() -> None:
    assert far_off([log(5)], 0.3, sums_of([log(4.8), log(5.2), log(5)])) == (False,)
    assert far_off([log(5)], 0.3, sums_of([0.1, -0.1, 0.0])) == (True,)


@given(st.lists(st.floats(-0.3, 0.3), min_size=8, max_size=20), st.sampled_from((-2.9, 2.9)))
def test_a_gross_error_is_seen_beside_ordinary_jobs_that_are_gone(gone: list[float], error: float) -> None:
    assert far_off([0.1, error], 0.3, sums_of(gone)) == (False, True)


@given(st.integers(20, 2000), st.floats(-1, 1), st.floats(0.0, 1.2))
def test_the_spread_of_what_is_gone_is_the_one_it_had(count: int, mean: float, deviation: float) -> None:
    """Far off is what is four of its spreads away, whatever the catalogue expects."""
    gone = sums_of([mean + deviation, mean - deviation] * count)
    limit = max(4 * deviation, log(3))
    assert far_off([mean + 0.8 * limit], 0.0, gone) == (False,)
    assert far_off([mean + 1.25 * limit], 0.0, gone) == (True,)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.about)
def test_after_thirty_jobs_intervals_hold_what_they_say(kind: Kind) -> None:
    """80 % within 4 points, and the true width within 15 %; also where 5 % of the reports are wrong."""
    found = held(kind, jobs=30, shops=15)
    assert found.inside == pytest.approx(0.80, abs=0.04)
    assert found.under == pytest.approx(0.80, abs=0.04)
    assert found.width == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if kind.times != (1.0, 1.0)], ids=lambda kind: kind.about
)
def test_already_three_jobs_are_better_than_the_catalogue(kind: Kind) -> None:
    assert held(kind, jobs=3, shops=15).off < held(kind, jobs=0, shops=15).off
