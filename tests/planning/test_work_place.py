"""Dew point and surface margin."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.job import Job
from planning.place.dew_point import dew_point_c, place_report


def job(surface_c, air_c=20.0, humidity_pct=60.0):
    return Job(air_temperature_c=air_c, surface_temperature_c=surface_c, relative_humidity_pct=humidity_pct)


@settings(max_examples=60)
@given(st.floats(-20, 50), st.floats(1, 99), st.floats(1, 99))
def test_dew_point_rises_with_humidity_and_stays_below_the_air(air_c, one_pct, other_pct):
    drier, moister = sorted((one_pct, other_pct))
    assert dew_point_c(air_c, drier) <= dew_point_c(air_c, moister) < air_c


def test_saturated_air_is_at_its_dew_point():
    assert dew_point_c(20.0, 100.0) == pytest.approx(20.0)


def test_air_without_moisture_has_no_dew_point():
    with pytest.raises(ValueError, match="more than 0 %"):
        dew_point_c(20.0, 0.0)
    assert place_report(job(20.0, humidity_pct=0.0), ["prime"]) is None


def test_the_driest_air_that_a_number_can_say_still_has_a_dew_point():
    assert dew_point_c(20.0, 5e-324) < -200


def test_warm_surface_has_no_warning():
    found = place_report(job(20.0), ["prime"])
    assert (found.dew_point_c, found.surface_margin_k, found.warning) == (12.0, 8.0, None)
    assert found.stages == ("prime",)


@pytest.mark.parametrize(("surface_c", "told"), [(14.9, "2.9 K above"), (11.0, "1.0 K below")])
def test_cold_surface_is_warned_of(surface_c, told):
    assert told in place_report(job(surface_c), ["prime"]).warning


def test_margin_is_rounded_down_so_that_the_warning_is_never_lost():
    found = place_report(job(dew_point_c(20.0, 60.0) + 2.99), ["prime"])
    assert found.surface_margin_k == 2.9
    assert found.warning


def test_nothing_is_said_where_nothing_is_coated_or_known():
    assert place_report(job(20.0), []) is None
    assert place_report(Job(air_temperature_c=20.0), ["prime"]) is None
    assert place_report(Job(None, None, None, 20.0, None, 60.0), ["prime"]).surface_margin_k is None
