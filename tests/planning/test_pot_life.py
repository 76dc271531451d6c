"""Pot life by temperature and batch, and into how many mixes a job is divided."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from material_examples import FILLER, PRIMER, fill
from planning_examples import facts_with, make_decision, make_pack, make_stage, make_substrate

from planning.model import Terms
from planning.procedure import plan
from planning.timing.kinetics import arrhenius
from planning.timing.pot_life import MOST_MIXES, Applying, Pot, pot_life_use, tightest_use
from rules.kinetics import ByTemperature, PotLife
from rules.pack import Work

TERM = ByTemperature(20.0, 50.0, 15.0, 30.0)
CLEAR = PotLife(60.0, 250.0, 0.25, TERM, "invented")

airs_c = st.floats(-10, 50)
batches_ml = st.floats(1, 10_000)


def pot(air_c):
    return Pot("clear", CLEAR, air_c)


def test_a_batch_of_the_stated_size_at_the_stated_temperature_lives_as_stated():
    assert pot(20.0).life_min(250.0) == pot(None).life_min(None) == 60


def test_a_larger_batch_lives_shorter_and_a_smaller_one_no_longer():
    assert pot(20.0).life_min(4000.0) == pytest.approx(30)
    assert pot(20.0).life_min(10.0) == 60


def test_outside_the_range_the_shorter_pot_life_is_taken():
    assert pot(5.0).life_min(None) == pytest.approx(60 * arrhenius(TERM, 15.0))
    assert pot(40.0).life_min(None) == pytest.approx(60 * arrhenius(TERM, 40.0))


@settings(max_examples=80)
@given(st.tuples(airs_c, airs_c), st.tuples(batches_ml, batches_ml))
def test_neither_warmth_nor_a_larger_batch_lengthens_a_pot_life(airs, batches):
    (cool_c, warm_c), (small_ml, large_ml) = sorted(airs), sorted(batches)
    assert pot(warm_c).life_min(large_ml) <= pot(cool_c).life_min(small_ml)


def once(minutes):
    """One pass, all of it applying."""
    return Applying(1.0, 0.0, minutes)


def test_what_is_used_up_in_time_is_mixed_once():
    found = pot_life_use(pot(20.0), 200.0, once(40.0))
    assert (found.mixes, found.batch_ml, found.life_min, found.use_min, found.note) == (1, 200, 60, 40, None)


def test_what_is_not_used_up_in_time_is_divided_and_the_answer_says_why():
    found = pot_life_use(pot(20.0), 4000.0, once(100.0))
    assert found.mixes == 3
    assert found.batch_ml == pytest.approx(1333.4)
    assert "could be used for 30 min" in found.note
    assert "mix 3 times" in found.note


def test_a_mix_is_in_use_while_it_is_applied_and_while_the_next_pass_that_it_lasts_for_is_set_up():
    applying = Applying(2.0, 10.0, 4.0)
    assert [applying.in_use_min(mixes) for mixes in (1, 2, 4)] == [18, 4, 2]


@settings(max_examples=80)
@given(
    st.none() | batches_ml,
    st.builds(Applying, st.integers(1, 6).map(float), st.floats(0, 60), st.floats(1, 600)),
    airs_c,
)
def test_every_mix_is_used_up_while_it_lives_and_one_fewer_would_not_do(whole_ml, applying, air_c):
    found = pot_life_use(pot(air_c), whole_ml, applying)

    def fits(mixes):
        batch_ml = None if whole_ml is None else whole_ml / mixes
        return applying.in_use_min(mixes) <= pot(air_c).life_min(batch_ml)

    assert fits(found.mixes) or found.mixes == MOST_MIXES
    assert not any(fits(fewer) for fewer in range(1, found.mixes))


def test_air_outside_the_range_is_told():
    assert "10 °C is outside 15 to 30 °C" in pot_life_use(pot(10.0), 200.0, once(10.0)).note


def test_of_several_mixed_materials_the_one_with_least_time_to_spare_is_told():
    roomy, tight = (
        pot_life_use(Pot(name, CLEAR, 20.0), 200.0, once(use)) for name, use in (("a", 20.0), ("b", 50.0))
    )
    assert tightest_use([roomy, tight]) == tightest_use([tight, roomy]) == tight
    assert tightest_use([]) is None


QUICK = PotLife(8.0, 50.0, 0.3, TERM, "invented")
CARTRIDGE = replace(FILLER, pot_life=QUICK)
CUP = replace(PRIMER, pot_life=CLEAR)
DISH = fill().amounts


def use_of(material, work, amounts=(), **parameters):
    """The pot life of what one stage with this work takes, for a damage of 80 mm on 1 m²."""
    stage = make_stage("apply", materials=(material.id,), work=work, amounts=amounts, parameters=parameters)
    facts = facts_with(damage_length_mm=80.0, damage_depth_mm=3.0)
    (found,) = plan(
        make_pack([stage], [material]), make_substrate(), facts, make_decision(["apply"]), Terms()
    ).stages
    return found.pot_life


def test_a_cartridge_mixes_as_it_is_pressed_out_however_long_setting_up_takes():
    found = use_of(CARTRIDGE, Work(30.0, per_dm_min=4.0, spread=0.0), DISH)
    assert (found.mixes, found.use_min) == (1, 3.2)


def test_applying_that_outlasts_the_pot_life_is_divided():
    found = use_of(CARTRIDGE, Work(30.0, per_dm_min=25.0, spread=0.0), DISH)
    assert (found.mixes, found.use_min) == (3, pytest.approx(6.7))
    slow = use_of(CARTRIDGE, Work(30.0, per_dm_min=25.0, spread=0.3), DISH)
    assert slow.mixes > 3


def test_every_pass_may_have_a_shot_of_its_own():
    found = use_of(CARTRIDGE, Work(30.0, per_dm_min=4.0, spread=0.0), DISH, passes=2.0)
    assert (found.mixes, found.use_min) == (2, 3.2)


def test_a_stage_says_how_much_of_its_fixed_work_is_applying():
    assert use_of(CARTRIDGE, Work(12.0, applying_min=1.0, spread=0.0), DISH).use_min == 1
    assert use_of(CARTRIDGE, Work(12.0, per_dm_min=5.0, applying_min=1.0, spread=0.0), DISH).use_min == 5


def test_where_nothing_is_said_of_applying_all_work_counts():
    found = use_of(CARTRIDGE, Work(12.0, spread=0.0), DISH)
    assert (found.mixes, found.use_min) == (2, 6)


def test_what_is_mixed_in_a_cup_is_in_use_from_the_first_setting_up_to_the_last_coat():
    found = use_of(CUP, Work(2.0, per_m2_min=1.5, spread=0.0), coats=2.0)
    assert (found.mixes, found.use_min) == (1, 7)
