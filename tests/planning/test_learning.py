"""The laws of learning from finished jobs."""

from __future__ import annotations

from math import exp, log
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.learning.learning import learned, learned_by_stage, shop_speed
from planning.learning.model import Learned, Spell
from planning.learning.posterior import REFERENCE, Belief, Sums, sums_of, updated
from planning.student import student_probability, student_quantile

RATIOS = st.floats(-3, 3)
OBSERVED = st.lists(RATIOS, min_size=1, max_size=30)
SPREADS = st.floats(0.05, 1.0)


def close(found: Learned, wanted: Learned) -> bool:
    return (found.degrees, found.jobs) == (wanted.degrees, wanted.jobs) and (
        found.factor,
        found.spread,
    ) == pytest.approx((wanted.factor, wanted.spread), rel=1e-9, abs=1e-9)


def of(observed: list[float], speed: float = 0.0, spread: float = 0.3) -> Learned:
    found = learned(sums_of(observed), speed, spread)
    assert found is not None
    return found


@given(OBSERVED, SPREADS, st.randoms())
def test_the_order_of_reports_does_not_matter(observed: list[float], spread: float, random: Random) -> None:
    shuffled = list(observed)
    random.shuffle(shuffled)
    assert of(shuffled, spread=spread) == of(observed, spread=spread)


@given(OBSERVED, OBSERVED, SPREADS)
def test_two_batches_are_one(first: list[float], second: list[float], spread: float) -> None:
    merged = learned(sums_of(first) + sums_of(second), 0.0, spread)
    assert merged is not None
    assert close(merged, of(first + second, spread=spread))


@given(OBSERVED, OBSERVED)
def test_learning_in_two_steps_is_learning_at_once(first: list[float], second: list[float]) -> None:
    prior = Belief(0.2, 1.0, 2.0, 0.09)
    stepwise = updated(updated(prior, sums_of(first)), sums_of(second))
    at_once = updated(prior, sums_of(first + second))
    assert stepwise.mean == pytest.approx(at_once.mean, abs=1e-9)
    assert stepwise.variance == pytest.approx(at_once.variance, rel=1e-9, abs=1e-9)
    assert (stepwise.kappa, stepwise.nu) == (at_once.kappa, at_once.nu)


@given(OBSERVED, st.floats(-1, 1))
def test_the_factor_lies_between_what_was_seen_and_what_was_expected(
    observed: list[float], speed: float
) -> None:
    ends = (exp(speed), exp(sums_of(observed).total / len(observed)))
    assert min(ends) * (1 - 1e-9) <= of(observed, speed).factor <= max(ends) * (1 + 1e-9)


@given(st.floats(-1, 1), st.integers(1, 50), SPREADS)
def test_jobs_as_predicted_narrow_what_is_known(value: float, jobs: int, spread: float) -> None:
    """One more job exactly where the estimate is never widens it; another one may, and should."""
    before = of([value] * jobs, value, spread)
    after = of([value] * (jobs + 1), value, spread)
    assert after.spread < before.spread
    assert after.degrees == before.degrees + 1
    assert after.quantile_factor(0.95) < before.quantile_factor(0.95)


@given(OBSERVED, SPREADS, st.lists(st.floats(0.01, 0.99), min_size=2, max_size=5))
def test_quantiles_rise_with_their_level(observed: list[float], spread: float, levels: list[float]) -> None:
    found = of(observed, spread=spread)
    quantiles = [found.quantile_factor(level) for level in sorted(levels)]
    assert quantiles == sorted(quantiles)
    assert found.quantile_factor(0.5) == pytest.approx(found.factor)


@given(st.floats(0.001, 0.999), st.floats(0.3, 1e5))
def test_quantile_and_probability_of_t_undo_each_other(level: float, degrees: float) -> None:
    assert student_probability(student_quantile(level, degrees), degrees) == pytest.approx(level, abs=1e-9)


@pytest.mark.parametrize(("level", "degrees"), [(0.0, 3.0), (1.0, 3.0), (0.5, 0.0), (0.5, -1.0)])
def test_there_is_no_quantile_for_nonsense(level: float, degrees: float) -> None:
    with pytest.raises(ValueError, match="there is no quantile"):
        student_quantile(level, degrees)


def test_without_a_job_nothing_is_learned() -> None:
    assert learned(Sums(), 0.4, 0.3) is None
    assert updated(REFERENCE, Sums()) is REFERENCE
    assert shop_speed({}) == shop_speed({"sand": Sums()}) == 0


def test_a_single_job_moves_half_the_way_and_many_all_of_it() -> None:
    """What is expected counts like one job."""
    assert of([log(1.44)]).factor == pytest.approx(1.2)
    assert of([log(1.44)] * 100).factor == pytest.approx(1.44, rel=0.005)


def test_a_new_stage_is_expected_at_the_speed_of_the_shop() -> None:
    slow = {stage: sums_of([log(1.5)] * 20) for stage in ("clean", "sand", "prime", "paint")}
    seen = {**slow, "fill": sums_of([log(1.5)])}
    spreads = dict.fromkeys(seen, 0.3)
    pooled = learned_by_stage(seen, {}, spreads)["fill"]
    alone = learned_by_stage({"fill": seen["fill"]}, {}, spreads)["fill"]
    assert pooled.factor == pytest.approx(1.44, abs=0.01)
    assert alone.factor == pytest.approx(1.31, abs=0.01)


def test_a_stage_without_jobs_stays_with_the_catalogue() -> None:
    seen = {"clean": sums_of([0.5] * 20), "fill": Sums()}
    assert learned_by_stage(seen, {}, dict.fromkeys(seen, 0.3)).keys() == {"clean"}


def test_a_frozen_stage_does_not_follow_the_shop() -> None:
    seen, frozen, spreads = {"fill": sums_of([0.4])}, {"fill": 0.1}, {"fill": 0.3, "sand": 0.3}
    before = learned_by_stage(seen, frozen, spreads)["fill"]
    after = learned_by_stage(seen | {"sand": sums_of([1.0] * 50)}, frozen, spreads)["fill"]
    assert before == after == learned(seen["fill"], 0.1, 0.3)


def test_a_stage_that_the_catalogue_dropped_is_left_out() -> None:
    assert learned_by_stage({"gone": sums_of([0.1])}, {}, {"fill": 0.3}) == {}


def test_a_spell_needs_minutes_or_both_times() -> None:
    with pytest.raises(ValueError, match="a start and an end"):
        _ = Spell().minutes
