"""Waits by temperature."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.waiting import scaled_min, waiting
from rules.pack import Kinetics, Wait

CURE = Wait(30.0, 20.0, Kinetics.CURE, 50.0, 15.0, 35.0)
FIXED = Wait(10.0)

inside_c = st.floats(15, 35)


@settings(max_examples=60)
@given(inside_c, inside_c, st.floats(1, 120))
def test_wait_falls_with_temperature(one_c, other_c, activation):
    wait = Wait(30.0, 20.0, Kinetics.EVAPORATION, activation, 15.0, 35.0)
    cold_c, warm_c = sorted((one_c, other_c))
    assert scaled_min(wait, cold_c) >= scaled_min(wait, warm_c)


@settings(max_examples=60)
@given(inside_c, st.floats(1, 500))
def test_wait_is_proportional_to_the_stated_minutes(air_c, minutes):
    wait = Wait(minutes, 20.0, Kinetics.CURE, 50.0, 15.0, 35.0)
    assert scaled_min(wait, air_c) == pytest.approx(minutes / 30 * scaled_min(CURE, air_c))


def test_wait_at_the_stated_temperature_is_as_stated():
    assert waiting(CURE, {}, 20.0).minutes == 30
    assert waiting(CURE, {}, 20.0).note is None


def test_wait_without_a_known_temperature_is_as_stated():
    assert waiting(CURE, {}, None).minutes == 30


def test_fixed_wait_does_not_scale():
    assert waiting(FIXED, {}, 5.0).minutes == 10
    assert waiting(FIXED, {}, 5.0).note is None


@pytest.mark.parametrize(
    ("air_c", "edge_c", "told"), [(5.0, 15.0, "expect longer"), (41.5, 35.0, "do not shorten")]
)
def test_outside_the_range_the_wait_is_taken_at_its_edge_and_says_so(air_c, edge_c, told):
    found = waiting(CURE, {}, air_c)
    assert found.minutes == scaled_min(CURE, edge_c) != 30
    assert told in found.note
    assert f"{air_c:g} °C is outside 15 to 35 °C" in found.note


def test_bake_waits_at_its_own_temperature_whatever_the_air():
    bake = Wait(30.0, 60.0, Kinetics.CURE, 50.0, 50.0, 80.0)
    cold, warm = (waiting(bake, {"temperature_c": 70.0}, air_c) for air_c in (5.0, 35.0))
    assert cold == warm
    assert cold.minutes == scaled_min(bake, 70.0) < 30
    assert cold.note == "The wait is spent at 70 °C, whatever the air's."


def test_bake_temperature_is_checked_against_the_range():
    found = waiting(CURE, {"temperature_c": 60.0}, 20.0)
    assert found.minutes == scaled_min(CURE, 35.0)
    assert "60 °C is outside 15 to 35 °C" in found.note


def test_a_wait_that_is_set_is_taken_as_it_stands():
    found = waiting(CURE, {"wait_min": 12.0}, 35.0)
    assert found.minutes == 12
    assert "not scaled" in found.note
    assert waiting(FIXED, {"wait_min": 12.0}, 35.0).note is None
    assert waiting(FIXED, {"wait_min": 0.0}, 20.0).minutes == 0


def test_bake_of_a_stage_that_does_not_wait_says_nothing():
    assert waiting(Wait(0.0), {"temperature_c": 60.0}, 20.0).note is None
