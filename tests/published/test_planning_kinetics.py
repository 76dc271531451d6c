"""Times by temperature against figures of the Arrhenius equation, computed apart from this project."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.kinetics import arrhenius, by_film, by_humidity
from rules.kinetics import (
    GAS_CONSTANT_J_PER_MOL_K,
    ByFilm,
    ByHumidity,
    ByTemperature,
    activation_kj_per_mol,
)

DOUBLING = [(20.0, 51.2), (23.0, 52.3), (25.0, 52.9), (60.0, 65.9)]
"""Activation energies in kJ/mol with which a rate doubles from here to 10 K above.

Computed with R = 8.314462618 J/(mol K) by R ln 2 / (1/T - 1/(T + 10)), apart from this project.
"""


def acceleration(activation, from_c, to_c):
    return 1 / arrhenius(ByTemperature(from_c, activation, from_c, to_c), to_c)


@pytest.mark.parametrize(("from_c", "activation"), DOUBLING)
def test_activation_energies_that_double_the_rate_in_ten_kelvin(from_c, activation):
    assert acceleration(activation, from_c, from_c + 10) == pytest.approx(2.0, abs=0.003)
    assert activation_kj_per_mol(2.0, from_c) == pytest.approx(activation, abs=0.05)


@settings(max_examples=60)
@given(st.floats(1, 5), st.floats(0, 80))
def test_the_rule_of_ten_degrees_is_the_equation_at_both_ends(times, at_c):
    """Van 't Hoff's rule, two to four times in 10 K, as a case of the equation (encyclopedias)."""
    activation = activation_kj_per_mol(times, at_c)
    assert acceleration(activation, at_c, at_c) == 1
    assert acceleration(activation, at_c, at_c + 10) == pytest.approx(times)


def test_two_to_four_times_in_ten_kelvin_are_about_50_to_100_kj_per_mol_near_room_temperature():
    """Encyclopedias give about 60 to 120 kJ/mol for the rule; the lower end is that of warmer places."""
    assert activation_kj_per_mol(2.0, 20.0) == pytest.approx(51.2, abs=0.05)
    assert activation_kj_per_mol(4.0, 20.0) == pytest.approx(102.4, abs=0.1)
    assert activation_kj_per_mol(2.0, 60.0) > 60


def test_bake_at_60_is_11_7_times_as_fast_as_20_where_doubling_each_ten_kelvin_says_16():
    """Computed apart from this project."""
    assert acceleration(50.0, 20.0, 60.0) == pytest.approx(11.7, abs=0.05)


def test_doubling_in_ten_kelvin_is_factor_8_in_30_only_near_room_temperature():
    """A printed example of the rule of thumb gives 8 from 25 to 55 °C; the equation gives less."""
    assert 2.0 ** ((55 - 25) / 10) == 8
    assert 7 < acceleration(activation_kj_per_mol(2.0, 25.0), 25.0, 55.0) < 8


@pytest.mark.parametrize(
    ("from_c", "to_c", "rule"), [(22.0, 55.0, 9.849), (23.0, 55.0, 9.190), (20.0, 70.0, 32.0)]
)
def test_the_printed_rule_overstates_the_speed_of_warm_storage(from_c, to_c, rule):
    """ASTM F1980 reckons by Q10^((T - T0)/10): 9.849 from 22 and 9.190 from 23 to 55 °C; 32 in 50 K."""
    assert 2.0 ** ((to_c - from_c) / 10) == pytest.approx(rule, abs=0.001)
    equation = acceleration(activation_kj_per_mol(2.0, from_c), from_c, to_c)
    assert rule * 0.6 < equation < rule


def test_gas_constant():
    """SI Brochure, 9th edition: the Boltzmann constant times the Avogadro constant, both exact."""
    assert pytest.approx(1.380649e-23 * 6.02214076e23, rel=1e-9) == GAS_CONSTANT_J_PER_MOL_K


def test_diffusion_out_of_twice_the_film_takes_four_times_as_long():
    """J. Crank, The Mathematics of Diffusion (from memory): the time goes by the square of the path."""
    assert by_film(ByFilm(40.0, 2.0), 80.0) == 4


def test_water_leaves_by_the_room_that_is_left_in_the_air():
    """Dalton's law of evaporation: in proportion to the vapour pressure deficit; 50 to 75 % halves it."""
    assert by_humidity(ByHumidity(50.0, 20.0, 80.0), 75.0) == 2
