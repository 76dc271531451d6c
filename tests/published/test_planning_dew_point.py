"""Dew points against other formulas, libraries and a handbook."""

from __future__ import annotations

from functools import cache
from math import exp, isclose
from pathlib import Path
from typing import Any

import psychrolib
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.place.dew_point import dew_point_c, saturation_hpa
from rules.loading import BASE_PACK, load_folder

DATA = Path(__file__).parent / "data" / "dew_points.yaml"

# psychrolib 2.5.0 (ASHRAE formulas), CoolProp 8.0.0 (real gas) and metpy 1.7.1 (fit of D. Bolton, Monthly
# Weather Review 108 (1980), from memory), computed apart from this project.
TABLE = [
    (20.0, 50.0, 9.272, 9.274, 9.256),
    (20.0, 85.0, 17.403, 17.403, 17.388),
    (23.0, 50.0, 12.028, 12.031, 12.010),
    (25.0, 60.0, 16.701, 16.704, 16.680),
    (30.0, 70.0, 23.928, 23.931, 23.894),
    (10.0, 90.0, 8.437, 8.437, 8.430),
    (60.0, 10.0, 17.453, 17.479, None),  # Bolton's fit ends at 35 °C
]


def tolerance_k(air_c: float) -> float:
    """How far good formulas lie apart: the fit of the Magnus form is for weather, not for ovens."""
    return 0.05 if air_c <= 30 else 0.1


@cache
def real_gas() -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load(DATA.read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize(("air_c", "humidity_pct", "ashrae", "real", "bolton"), TABLE)
def test_three_libraries(air_c, humidity_pct, ashrae, real, bolton):
    found = dew_point_c(air_c, humidity_pct)
    others = [other for other in (ashrae, real, bolton) if other is not None]
    assert [other for other in others if abs(found - other) > tolerance_k(air_c)] == []


@settings(max_examples=200)
@given(st.floats(1, 60), st.floats(2, 100))
def test_a_library_of_ashrae_formulas_over_the_whole_range(air_c, humidity_pct):
    """psychrolib, GetTDewPointFromRelHum; below 0 °C it counts frost, so that is left out."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    ashrae = psychrolib.GetTDewPointFromRelHum(air_c, humidity_pct / 100)
    if ashrae > 0.1:
        assert dew_point_c(air_c, humidity_pct) == pytest.approx(ashrae, abs=tolerance_k(air_c))


@pytest.mark.parametrize("air_c", sorted(real_gas()["dew_point_c"]))
def test_a_real_gas_over_a_grid(air_c):
    table = real_gas()
    row = zip(table["humidity_pct"], table["dew_point_c"][air_c], strict=True)
    known = [(humidity_pct, dew_c) for humidity_pct, dew_c in row if dew_c is not None]
    assert known
    for humidity_pct, dew_c in known:
        assert dew_point_c(air_c, humidity_pct) == pytest.approx(dew_c, abs=tolerance_k(air_c))


def test_worked_example_of_a_handbook():
    """ASHRAE Handbook Fundamentals, chapter 1, example 1 (SI), as quoted in the tests of psychrolib.

    40 °C dry bulb, 20 °C wet bulb: 14 % relative humidity, dew point 7 °C; both are read off a chart.
    """
    assert dew_point_c(40.0, 14.0) == pytest.approx(7.0, abs=0.5)


@pytest.mark.parametrize(("saturated_c", "pressure_pa"), [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3)])
def test_saturation_pressures_of_a_handbook(saturated_c, pressure_pa):
    """ASHRAE Handbook Fundamentals, chapter 1, table of saturation pressure over water, as quoted in the
    tests of psychrolib. Half a per cent of the pressure is less than 0.1 K of the dew point."""
    assert isclose(100 * saturation_hpa(saturated_c), pressure_pa, rel_tol=0.005)


def test_another_fit_of_the_same_law():
    """O. Alduchov and R. Eskridge, J. Appl. Meteor. 35 (1996) 601-609: 17.625 and 243.04 (from memory)."""
    for dew_c in (-10.0, 0.0, 12.0, 24.0):
        vapour = exp(17.625 * dew_c / (243.04 + dew_c)) / exp(17.625 * 25.0 / (243.04 + 25.0))
        assert dew_point_c(25.0, 100 * vapour) == pytest.approx(dew_c, abs=0.05)


def test_coatings_keep_the_margin_of_the_standard():
    """ISO 8502-4 (from memory): normally at least 3 K above the dew point. It speaks of steel alone; that
    the same margin is kept on plastics is common practice, no source."""
    coatings = [each for each in load_folder(BASE_PACK).materials.values() if each.kind == "coating"]
    assert coatings
    for coating in coatings:
        assert coating.application is not None
        assert coating.application.dew_margin_k >= 3
        assert coating.application.source
