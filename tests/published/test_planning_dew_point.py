"""Dew points against other formulas, libraries and a handbook."""

from __future__ import annotations

from math import exp

import pytest

from planning.place.dew_point import dew_point_c

# psychrolib 2.5.0 (ASHRAE formulas) and CoolProp 8.0.0 (real gas), computed apart from this project.
TABLE = [
    (20.0, 50.0, 9.272, 9.274, 0.05),
    (20.0, 85.0, 17.403, 17.403, 0.05),
    (23.0, 50.0, 12.028, 12.031, 0.05),
    (25.0, 60.0, 16.701, 16.704, 0.05),
    (30.0, 70.0, 23.928, 23.931, 0.05),
    (10.0, 90.0, 8.437, 8.437, 0.05),
    (60.0, 10.0, 17.453, 17.479, 0.1),
]


@pytest.mark.parametrize(("air_c", "humidity_pct", "psychrolib", "coolprop", "tolerance"), TABLE)
def test_two_libraries(air_c, humidity_pct, psychrolib, coolprop, tolerance):
    assert dew_point_c(air_c, humidity_pct) == pytest.approx(psychrolib, abs=tolerance)
    assert dew_point_c(air_c, humidity_pct) == pytest.approx(coolprop, abs=tolerance)


def test_worked_example_of_a_handbook():
    """ASHRAE Handbook Fundamentals, chapter 1, example 1 (SI), as quoted in the tests of psychrolib.

    40 °C dry bulb, 20 °C wet bulb: 14 % relative humidity, dew point 7 °C; both are read off a chart.
    """
    assert dew_point_c(40.0, 14.0) == pytest.approx(7.0, abs=0.5)


@pytest.mark.parametrize(("saturated_c", "pressure_pa"), [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3)])
def test_saturation_pressures_of_a_handbook(saturated_c, pressure_pa):
    """ASHRAE Handbook, table of saturation pressure over water: air at 60 °C of that vapour pressure.

    The pressure at 60 °C, 19944 Pa, is from memory of the same table.
    """
    assert dew_point_c(60.0, 100 * pressure_pa / 19944) == pytest.approx(saturated_c, abs=0.15)


def test_another_fit_of_the_same_law():
    """O. Alduchov and R. Eskridge, J. Appl. Meteor. 35 (1996) 601-609: 17.625 and 243.04 (from memory)."""
    for dew_c in (-10.0, 0.0, 12.0, 24.0):
        vapour = exp(17.625 * dew_c / (243.04 + dew_c)) / exp(17.625 * 25.0 / (243.04 + 25.0))
        assert dew_point_c(25.0, 100 * vapour) == pytest.approx(dew_c, abs=0.05)
