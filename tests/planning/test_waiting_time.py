"""Waits by temperature, film and humidity, and waits that are spent in a bake."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.conditions import Conditions
from planning.timing.kinetics import arrhenius
from planning.timing.model import Bake
from planning.timing.waiting import held_min, waiting
from rules.kinetics import ByFilm, ByHumidity, Heat
from rules.pack import Kinetics, Wait

CURE = Wait(30.0, 20.0, Kinetics.CURE, 50.0, 15.0, 35.0)
FIXED = Wait(10.0)
WATER = Wait(
    15.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0, ByFilm(20.0, 2.0), ByHumidity(50.0, 20.0, 80.0)
)
BAKE = Wait(30.0, 60.0, Kinetics.CURE, 50.0, 50.0, 80.0, heat=Heat(4.0, 2.0, 30.0))

anywhere_c = st.floats(-20, 60)


def in_air(air_c):
    return Conditions(air_c)


@st.composite
def scaled_waits(draw):
    low_c = draw(st.integers(0, 20))
    valid = (float(low_c), float(draw(st.integers(low_c, 45))))
    return Wait(
        draw(st.floats(1, 500)),
        draw(st.floats(*valid)),
        draw(st.sampled_from([Kinetics.CURE, Kinetics.EVAPORATION])),
        draw(st.floats(0, 120)),
        *valid,
        by_film=ByFilm(draw(st.floats(5, 100)), draw(st.floats(0, 3))),
        by_humidity=ByHumidity(draw(st.floats(20, 70)), 20.0, draw(st.floats(70, 90))),
        heat=draw(st.none() | st.just(Heat(4.0, 2.0)) | st.just(Heat(4.0, 2.0, least_hold_min=20.0))),
    )


@settings(max_examples=80)
@given(scaled_waits(), anywhere_c, anywhere_c, st.none() | st.floats(40, 80))
def test_colder_air_never_shortens_a_wait(wait, one_c, other_c, heated_c):
    parameters = {} if heated_c is None else {"temperature_c": heated_c}
    cold_c, warm_c = sorted((one_c, other_c))
    assert (
        waiting(wait, parameters, in_air(cold_c)).minutes >= waiting(wait, parameters, in_air(warm_c)).minutes
    )


@settings(max_examples=80)
@given(scaled_waits(), st.tuples(st.floats(1, 200), st.floats(1, 200)), anywhere_c)
def test_a_thicker_film_never_shortens_a_wait(wait, films_um, air_c):
    thin, thick = (waiting(wait, {}, Conditions(air_c, 50.0, film)) for film in sorted(films_um))
    assert thick.minutes >= thin.minutes


@settings(max_examples=80)
@given(scaled_waits(), st.tuples(st.floats(0, 100), st.floats(0, 100)), anywhere_c)
def test_damper_air_never_shortens_a_wait(wait, humidities_pct, air_c):
    dry, damp = (waiting(wait, {}, Conditions(air_c, pct, 40.0)) for pct in sorted(humidities_pct))
    assert damp.minutes >= dry.minutes


@settings(max_examples=80)
@given(scaled_waits(), anywhere_c)
def test_a_wait_is_never_shorter_than_at_the_edge_nor_than_the_equation_says(wait, air_c):
    edge_c = min(max(air_c, wait.valid_from_c), wait.valid_to_c)
    found = held_min(wait, air_c, Conditions(air_c))
    for temperature_c in (edge_c, air_c):
        reckoned = wait.minutes * arrhenius(wait.by_temperature, temperature_c)
        assert found >= reckoned or found == pytest.approx(reckoned)


@settings(max_examples=60)
@given(anywhere_c, st.floats(1, 500))
def test_wait_is_proportional_to_the_stated_minutes(air_c, minutes):
    wait = Wait(minutes, 20.0, Kinetics.CURE, 50.0, 15.0, 35.0)
    at_30 = waiting(CURE, {}, in_air(air_c)).minutes
    assert waiting(wait, {}, in_air(air_c)).minutes == pytest.approx(minutes / 30 * at_30)


def test_wait_under_the_stated_conditions_is_as_stated():
    assert waiting(CURE, {}, in_air(20.0)).minutes == 30
    assert waiting(CURE, {}, in_air(20.0)).note is None
    assert waiting(WATER, {}, Conditions(20.0, 50.0, 20.0)).minutes == 15


def test_what_is_not_known_changes_nothing():
    assert waiting(CURE, {}, Conditions()).minutes == 30
    assert waiting(WATER, {}, in_air(20.0)).minutes == 15


def test_fixed_wait_does_not_scale():
    assert waiting(FIXED, {}, in_air(5.0)).minutes == 10
    assert waiting(FIXED, {}, in_air(5.0)).note is None


def test_twice_the_film_waits_four_times_as_long_where_diffusion_governs():
    assert waiting(WATER, {}, Conditions(20.0, 50.0, 40.0)).minutes == pytest.approx(60)


def test_half_the_room_for_vapour_doubles_the_wait():
    assert waiting(WATER, {}, Conditions(20.0, 75.0, 20.0)).minutes == pytest.approx(30)


def test_below_the_range_the_longer_wait_is_that_of_the_equation():
    found = waiting(CURE, {}, in_air(5.0))
    assert found.minutes == 30 * arrhenius(CURE.by_temperature, 5.0)
    assert found.note == (
        "5 °C is outside 15 to 35 °C, where the wait is known; it is reckoned on below that and may be "
        "longer still."
    )


def test_above_the_range_the_longer_wait_is_that_at_the_edge():
    found = waiting(CURE, {}, in_air(41.5))
    assert found.minutes == 30 * arrhenius(CURE.by_temperature, 35.0)
    assert found.note == (
        "41.5 °C is outside 15 to 35 °C, where the wait is known; it is taken at 35 °C: do not shorten it."
    )


def test_drier_air_than_is_known_does_not_shorten_the_wait_further():
    edge, drier = (waiting(WATER, {}, Conditions(20.0, pct, 20.0)) for pct in (20.0, 5.0))
    assert drier.minutes == edge.minutes == pytest.approx(15 * 50 / 80)
    assert edge.note is None
    assert "5 % humidity is outside 20 to 80 %" in drier.note
    assert "do not shorten" in drier.note


@pytest.mark.parametrize(("pct", "minutes"), [(90.0, 75.0), (95.0, 150.0), (100.0, 150.0)])
def test_damper_air_than_is_known_is_reckoned_on_and_told(pct, minutes):
    found = waiting(WATER, {}, Conditions(20.0, pct, 20.0))
    assert found.minutes == pytest.approx(minutes)
    assert found.note.endswith("Dry the air.")
    assert ("in saturated air nothing dries" in found.note) == (pct > 95)


def test_bake_is_warmed_up_held_and_cooled():
    cold, warm = (waiting(BAKE, {"temperature_c": 60.0}, in_air(air_c)) for air_c in (16.0, 24.0))
    assert cold.bake == Bake(60.0, 11.0, 30.0, 15.0)
    assert cold.minutes == 56
    assert warm.bake == Bake(60.0, 9.0, 30.0, 15.0)
    assert cold.note == "The wait is spent at 60 °C, whatever the air's."


def test_bake_without_rates_takes_its_hold_alone():
    plain = replace(BAKE, heat=None)
    found = waiting(plain, {"temperature_c": 70.0}, in_air(5.0))
    assert found.minutes == 30 * arrhenius(BAKE.by_temperature, 70.0) < 30
    assert found.bake is None


def test_a_fast_cure_is_kept_in_the_heat_all_the_same():
    kept = replace(BAKE, heat=Heat(4.0, 2.0, 30.0, least_hold_min=25.0))
    cooler, hotter = (waiting(kept, {"temperature_c": at_c}, in_air(20.0)).bake for at_c in (60.0, 75.0))
    assert (cooler.hold_min, hotter.hold_min) == (30, 25)


def test_cooling_alone_can_be_a_wait():
    cooling = Wait(0.0, heat=Heat(down_k_per_min=1.0, handling_c=30.0))
    found = waiting(cooling, {"temperature_c": 60.0}, in_air(20.0))
    assert (found.minutes, found.note) == (30, None)
    assert waiting(cooling, {"temperature_c": 25.0}, in_air(20.0)).minutes == 0


def test_air_that_is_warmer_than_the_bake_warms_up_at_once():
    assert waiting(BAKE, {"temperature_c": 30.0}, in_air(35.0)).bake.heat_up_min == 0


def test_bake_temperature_is_checked_against_the_range():
    found = waiting(CURE, {"temperature_c": 60.0}, in_air(20.0))
    assert found.minutes == 30 * arrhenius(CURE.by_temperature, 35.0)
    assert "60 °C is outside 15 to 35 °C" in found.note


def test_a_wait_that_is_set_is_taken_as_it_stands():
    found = waiting(CURE, {"wait_min": 12.0}, in_air(35.0))
    assert found.minutes == 12
    assert "not scaled" in found.note
    assert waiting(BAKE, {"wait_min": 12.0, "temperature_c": 60.0}, in_air(20.0)).bake is None
    assert waiting(FIXED, {"wait_min": 12.0}, in_air(35.0)).note is None
    assert waiting(FIXED, {"wait_min": 0.0}, in_air(20.0)).minutes == 0


def test_bake_of_a_stage_that_does_not_wait_says_nothing():
    assert waiting(Wait(0.0), {"temperature_c": 60.0}, in_air(20.0)).note is None
