"""Pot life by temperature and batch, and into how many mixes a job is divided."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.kinetics import arrhenius
from planning.timing.pot_life import MOST_MIXES, pot_life_min, pot_life_use, tightest_use
from rules.kinetics import ByTemperature, PotLife

TERM = ByTemperature(20.0, 50.0, 15.0, 30.0)
CLEAR = PotLife(60.0, 250.0, 0.25, TERM, "invented")

airs_c = st.floats(-10, 50)
batches_ml = st.floats(1, 10_000)


def test_a_batch_of_the_stated_size_at_the_stated_temperature_lives_as_stated():
    assert pot_life_min(CLEAR, 250.0, 20.0) == pot_life_min(CLEAR, None, None) == 60


def test_a_larger_batch_lives_shorter_and_a_smaller_one_no_longer():
    assert pot_life_min(CLEAR, 4000.0, 20.0) == pytest.approx(30)
    assert pot_life_min(CLEAR, 10.0, 20.0) == 60


def test_outside_the_range_the_shorter_pot_life_is_taken():
    assert pot_life_min(CLEAR, None, 5.0) == pytest.approx(60 * arrhenius(TERM, 15.0))
    assert pot_life_min(CLEAR, None, 40.0) == pytest.approx(60 * arrhenius(TERM, 40.0))


@settings(max_examples=80)
@given(st.tuples(airs_c, airs_c), st.tuples(batches_ml, batches_ml))
def test_neither_warmth_nor_a_larger_batch_lengthens_a_pot_life(airs, batches):
    (cool_c, warm_c), (small_ml, large_ml) = sorted(airs), sorted(batches)
    assert pot_life_min(CLEAR, large_ml, warm_c) <= pot_life_min(CLEAR, small_ml, cool_c)


def test_what_is_used_up_in_time_is_mixed_once():
    found = pot_life_use("clear", CLEAR, 200.0, 40.0, 20.0)
    assert (found.mixes, found.batch_ml, found.life_min, found.use_min, found.note) == (1, 200, 60, 40, None)


def test_what_is_not_used_up_in_time_is_divided_and_the_answer_says_why():
    found = pot_life_use("clear", CLEAR, 4000.0, 100.0, 20.0)
    assert found.mixes == 3
    assert found.batch_ml == pytest.approx(1333.4)
    assert "could be used for 30 min" in found.note
    assert "mix 3 times" in found.note


@settings(max_examples=80)
@given(st.none() | batches_ml, st.floats(1, 600), airs_c)
def test_every_mix_is_used_up_while_it_lives_and_one_fewer_would_not_do(whole_ml, use_min, air_c):
    found = pot_life_use("clear", CLEAR, whole_ml, use_min, air_c)

    def fits(mixes):
        batch_ml = None if whole_ml is None else whole_ml / mixes
        return use_min / mixes <= pot_life_min(CLEAR, batch_ml, air_c)

    assert fits(found.mixes) or found.mixes == MOST_MIXES
    assert not any(fits(fewer) for fewer in range(1, found.mixes))


def test_air_outside_the_range_is_told():
    assert "10 °C is outside 15 to 30 °C" in pot_life_use("clear", CLEAR, 200.0, 10.0, 10.0).note


def test_of_several_mixed_materials_the_one_with_least_time_to_spare_is_told():
    roomy, tight = (pot_life_use(name, CLEAR, 200.0, use, 20.0) for name, use in (("a", 20.0), ("b", 50.0)))
    assert tightest_use([roomy, tight]) == tightest_use([tight, roomy]) == tight
    assert tightest_use([]) is None
