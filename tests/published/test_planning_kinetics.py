"""Waits by temperature against figures of the Arrhenius equation, computed apart from this project."""

from __future__ import annotations

import pytest

from planning.timing.waiting import GAS_CONSTANT_J_PER_MOL_K, scaled_min
from rules.pack import Kinetics, Wait


def acceleration(activation_kj_per_mol, from_c, to_c):
    wait = Wait(1.0, from_c, Kinetics.CURE, activation_kj_per_mol, from_c, to_c)
    return 1 / scaled_min(wait, to_c)


@pytest.mark.parametrize(("activation", "from_c"), [(51.2, 20.0), (52.3, 23.0), (52.9, 25.0), (65.9, 60.0)])
def test_activation_energies_that_double_the_rate_in_ten_kelvin(activation, from_c):
    assert acceleration(activation, from_c, from_c + 10) == pytest.approx(2.0, abs=0.003)


def test_bake_at_60_is_11_7_times_as_fast_as_20_where_doubling_each_ten_kelvin_says_16():
    assert acceleration(50.0, 20.0, 60.0) == pytest.approx(11.7, abs=0.05)


def test_doubling_in_ten_kelvin_is_factor_8_in_30_only_near_room_temperature():
    """A printed example of the rule of thumb gives 8 from 25 to 55 °C; the equation gives less."""
    assert 7 < acceleration(52.9, 25.0, 55.0) < 8


def test_gas_constant():
    """SI Brochure, 9th edition: the Boltzmann constant times the Avogadro constant, both exact."""
    assert pytest.approx(1.380649e-23 * 6.02214076e23, rel=1e-9) == GAS_CONSTANT_J_PER_MOL_K
