"""Mixing by mass against figures worked by hand, and grooves and films against the units."""

from __future__ import annotations

from math import pi

import pytest

from planning.materials.grooves import dish_mm3, v_groove_mm2, within_mm2
from planning.materials.mixing import recipe
from rules.pack import Component

G_PER_ML_OF_LB_PER_US_GALLON = 0.1198264
"""453.59237 g over 3785.411784 ml."""


def component(name, parts, density_g_per_ml, role):
    return Component(name, name, parts, density_g_per_ml, 500.0, role)


def test_four_one_one_by_mass():
    """Common practice, no source: a mixing table counts on from nought on the scale. Worked by hand.

    4 : 1 : 1 of 1.40, 1.05 and 0.87 g/ml, 300 ml in all: 200, 50 and 50 ml, which are 280.0, 52.5 and
    43.5 g; the scale shows 280.0, 332.5 and 376.0. By mass it is 100 : 18.75 : 15.54.
    """
    mix = (
        component("base", 4.0, 1.40, "base"),
        component("hardener", 1.0, 1.05, "hardener"),
        component("reducer", 1.0, 0.87, "reducer"),
    )
    found = recipe(mix, 300)
    assert [float(part.volume_ml) for part in found.parts] == [200.0, 50.0, 50.0]
    assert [float(part.mass_g) for part in found.parts] == [280.0, 52.5, 43.5]
    assert [float(part.scale_g) for part in found.parts] == [280.0, 332.5, 376.0]
    assert [part.parts_by_mass for part in found.parts] == pytest.approx([100, 18.75, 15.54], abs=0.06)


def test_a_us_quart_by_weight_per_gallon():
    """1 lb/US gal = 119.8264 g/l (from the definitions of pound and gallon). Worked by hand.

    2 : 1 of 8.34 and 9.0 lb/gal in 946 ml: 630.7 ml at 0.99935 g/ml are 630.3 g, 315.3 ml at
    1.07844 g/ml are 340.1 g.
    """
    mix = (
        component("clear", 2.0, 8.34 * G_PER_ML_OF_LB_PER_US_GALLON, "base"),
        component("hardener", 1.0, 9.0 * G_PER_ML_OF_LB_PER_US_GALLON, "hardener"),
    )
    clear, hardener = recipe(mix, 946).parts
    assert float(clear.mass_g) == pytest.approx(630.3, abs=0.1)
    assert float(hardener.scale_g) == pytest.approx(970.3, abs=0.1)
    # What goes in is the difference of two readings, each rounded.
    assert float(hardener.mass_g) == pytest.approx(340.1, abs=0.15)
    assert pytest.approx(453.59237 / 3785.411784, rel=1e-6) == G_PER_ML_OF_LB_PER_US_GALLON


def test_v_groove_is_a_triangle():
    """Elementary geometry: depth² x tan(half angle); at 90 degrees the section is the depth squared."""
    assert v_groove_mm2(4.0, 90.0) == pytest.approx(16.0)
    assert v_groove_mm2(3.0, 60.0) == pytest.approx(3.0 * (2 * 3.0 * 0.5773502692) / 2)


def test_parabola_and_paraboloid_by_archimedes():
    """Archimedes: a parabola's segment is two thirds of its rectangle, a paraboloid half of its cylinder."""
    assert dish_mm3(0.0, 0.0, 3.0, 20.0) == pytest.approx(pi * 20**2 * 3 / 2)
    straight = dish_mm3(100.0, 0.0, 3.0, 20.0) - dish_mm3(0.0, 0.0, 3.0, 20.0)
    assert straight == pytest.approx(100 * 2 / 3 * 40 * 3)


def test_area_of_a_stadium():
    """Steiner's formula for a line: a rectangle and two half circles."""
    assert within_mm2(80.0, 0.0, 20.0) == pytest.approx(80 * 40 + pi * 400)
