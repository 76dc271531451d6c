"""Coating quantities against printed spreading rates."""

from __future__ import annotations

import pytest

from planning.materials.needs import coating_ml

LITRE_PER_US_GALLON = 3.785411784
SQUARE_METRE_PER_SQUARE_FOOT = 0.09290304
MICROMETRE_PER_MIL = 25.4


def spreading_rate_m2_per_l(volume_solids_pct, film_um):
    """Square metres a litre covers when nothing is lost."""
    return 1000 / float(coating_ml(1.0, film_um, 1, volume_solids_pct, 100.0))


@pytest.mark.parametrize(("volume_solids_pct", "film_um", "rate"), [(71.0, 125.0, 5.68), (65.0, 125.0, 5.20)])
def test_theoretical_spreading_rate(volume_solids_pct, film_um, rate):
    """Rate = 10 x volume solids / film; 71 % at 125 µm is a printed example, 65 % follows from the units."""
    assert spreading_rate_m2_per_l(volume_solids_pct, film_um) == pytest.approx(rate, abs=0.005)


def test_wet_film():
    """Wet film = 100 x dry film / volume solids: 125 µm dry at 71 % is printed as 176 µm wet.

    A wet film of 1 µm on 1 m² is 1 ml.
    """
    assert float(coating_ml(1.0, 125.0, 1, 71.0, 100.0)) == pytest.approx(176, abs=0.5)


def test_spreading_rate_in_us_units():
    """1604 square feet x mil to the US gallon (231 cubic inches): 65 % at 5 mil is 208.5 ft²/gal."""
    rate = spreading_rate_m2_per_l(65.0, 5 * MICROMETRE_PER_MIL)
    assert rate * LITRE_PER_US_GALLON / SQUARE_METRE_PER_SQUARE_FOOT == pytest.approx(208.5, abs=0.1)
