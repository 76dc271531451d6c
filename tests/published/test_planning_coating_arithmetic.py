"""Coating quantities against printed spreading rates."""

from __future__ import annotations

import pytest

from planning.materials.coating import coating_ml, wet_film_um

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
    assert wet_film_um(125.0, 71.0) == pytest.approx(176, abs=0.5)
    assert float(coating_ml(1.0, 125.0, 1, 71.0, 100.0)) == pytest.approx(176, abs=0.5)


def test_spreading_rate_in_us_units():
    """1604 square feet x mil to the US gallon (231 cubic inches): 65 % at 5 mil is 208.5 ft²/gal."""
    rate = spreading_rate_m2_per_l(65.0, 5 * MICROMETRE_PER_MIL)
    assert rate * LITRE_PER_US_GALLON / SQUARE_METRE_PER_SQUARE_FOOT == pytest.approx(208.5, abs=0.1)


def test_wet_film_of_what_is_thinned():
    """Wet film = film x (100 + thinner) / solids, thinner in % of the paint's volume (from memory).

    By hand: a litre of 50 % solids with 200 ml of thinner holds 500 ml of solids in 1,200 ml, which is
    41.67 %; 40 µm of it dry are 96 µm wet.
    """
    assert wet_film_um(40.0, 50.0, 20.0) == pytest.approx(96.0)
    assert wet_film_um(40.0, 50.0, 20.0) == pytest.approx(wet_film_um(40.0, 500 / 12))


def test_a_form_in_circulation_is_not_ours():
    """In circulation is volume solids / 100 x 10 / film; right is volume solids / 100 / film in mm.

    At 71 % and 125 µm the former gives a hundredth of 5.68 with the film in µm, and ten times it in mm.
    """
    rate = spreading_rate_m2_per_l(71.0, 125.0)
    assert rate == pytest.approx(71 / 100 / 0.125)
    assert rate == pytest.approx(100 * (71 / 100 * 10 / 125))
    assert rate == pytest.approx(71 / 100 * 10 / 0.125 / 10)


def test_a_wet_film_spreads_as_its_thickness_says():
    """Wet film in µm = 1000 / (m² a litre): 8 m² a litre is printed as 125 µm."""
    assert 1000 / spreading_rate_m2_per_l(100.0, 125.0) == pytest.approx(125)
    assert spreading_rate_m2_per_l(100.0, 125.0) == pytest.approx(8)


def test_square_feet_and_mils_to_the_gallon():
    """1604 ft² mil/gal is printed; exact is 231000 / 144 = 1604.17, from 231 cubic inches."""
    rate = spreading_rate_m2_per_l(100.0, MICROMETRE_PER_MIL)
    assert rate * LITRE_PER_US_GALLON / SQUARE_METRE_PER_SQUARE_FOOT == pytest.approx(231_000 / 144, rel=1e-9)


def test_transfer_efficiency_of_a_gun():
    """At the 65 % that SCAQMD takes for equal to high-volume low-pressure spray, 1 / 0.65 is used.

    Source: http://www.aqmd.gov/home/permits/spray-equipment-transfer-efficiency; the need by definition.
    """
    assert coating_ml(1.0, 50.0, 2, 40.0, 65.0) == pytest.approx(coating_ml(1.0, 50.0, 2, 40.0, 100.0) / 0.65)
