"""Windows and waits between stages."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_examples import catalogue, make_stage

from planning.timing.kinetics import arrhenius
from planning.timing.model import StageWindow
from planning.timing.windows import (
    Lag,
    opened_window,
    tightest,
    wait_lags,
    window_lags,
    windows_by_stage,
)
from rules.kinetics import ByTemperature
from rules.pack import Window

PROMOTER_WINDOW = Window(("sealer", "primer"), 10.0, 30.0, "promoter")
FLASH = ByTemperature(20.0, 40.0, 15.0, 35.0)
BY_AIR = replace(PROMOTER_WINDOW, by_temperature=FLASH)
STAGES = catalogue(
    make_stage("promoter", window=PROMOTER_WINDOW),
    make_stage("primer"),
    make_stage("sealer"),
    make_stage("base"),
)


def windows_of(order, parameters=None, earlier=None, wait_min=0.0, stages=STAGES, air_c=None):
    settings = {stage: {} for stage in order} | (parameters or {})
    dependent = {stage: frozenset() for stage in order} | (earlier or {})
    waits, airs = dict.fromkeys(order, wait_min), dict.fromkeys(order, air_c)
    return windows_by_stage(order, stages, settings, dependent, waits, airs)


def window_in(air_c, window=PROMOTER_WINDOW, **parameters):
    return opened_window("promoter", window, parameters, 0.0, air_c)


def test_target_is_the_first_that_follows_whatever_the_order_of_to():
    found = windows_of(("promoter", "base", "primer", "sealer"))
    assert [stage for stage, windows in found.items() if windows] == ["primer"]
    assert not any(windows_of(("promoter", "base")).values())


def test_window_stands_at_the_stage_that_must_start_in_it():
    found = windows_of(("promoter", "primer", "sealer"))
    assert found == {
        "promoter": (),
        "primer": (StageWindow("promoter", 10.0, 30.0, "promoter"),),
        "sealer": (),
    }


def test_window_to_an_earlier_stage_does_not_open():
    assert windows_of(("primer", "promoter"))["primer"] == ()


def test_parameters_take_the_place_of_the_catalogue_window():
    parameters = {"promoter": {"not_before_min": 5.0, "not_after_min": 20.0}}
    found = windows_of(("promoter", "primer"), parameters)
    assert found["primer"] == (StageWindow("promoter", 5.0, 20.0, "promoter"),)


def test_wait_that_outlasts_the_opening_puts_it_off():
    earlier = {"primer": frozenset({"promoter"})}
    (window,) = windows_of(("promoter", "primer"), earlier=earlier, wait_min=13.5)["primer"]
    assert window.not_before_min == 13.5
    (window,) = windows_of(("promoter", "primer"), wait_min=13.5)["primer"]
    assert window.not_before_min == 10


def test_tightest_closes_first():
    early, late = StageWindow("a", 0, 30, None), StageWindow("b", 0, 60, None)
    opened = [StageWindow("c", 5, None, None), StageWindow("d", 15, None, None)]
    assert tightest([late, early, *opened]) == early
    assert tightest(opened) == opened[1]
    assert tightest([]) is None


def test_wait_holds_back_the_first_stage_that_depends_on_it():
    earlier = {"a": frozenset(), "b": frozenset(), "c": frozenset({"a", "b"}), "d": frozenset({"a", "c"})}
    wait_min = {"a": 15.0, "b": 0.0, "c": 9.0, "d": 30.0}
    assert wait_lags(("a", "b", "c", "d"), earlier, wait_min) == (Lag("a", "c", 15.0), Lag("c", "d", 9.0))


def test_windows_mean_lags():
    assert window_lags({"b": (StageWindow("a", 10, 30, "a"),)}) == (Lag("a", "b", 10, 30),)


def test_a_window_goes_by_the_air_where_it_says_so():
    assert window_in(5.0) == window_in(None) == window_in(20.0, BY_AIR) == window_in(None, BY_AIR)
    warm = window_in(30.0, BY_AIR)
    assert warm.not_before_min == pytest.approx(10 * arrhenius(FLASH, 30.0), abs=0.1)
    assert warm.not_after_min == pytest.approx(30 * arrhenius(FLASH, 30.0), abs=0.1)
    assert warm.note is None


def test_the_window_of_a_procedure_goes_by_the_air_at_its_stage():
    stages = STAGES | {"promoter": make_stage("promoter", window=BY_AIR)}
    found = windows_of(("promoter", "primer"), stages=stages, air_c=30.0)
    assert found["primer"] == (window_in(30.0, BY_AIR),)


def test_bounds_that_are_set_do_not_go_by_the_air():
    found = window_in(30.0, BY_AIR, not_before_min=10.0, not_after_min=20.0)
    assert (found.not_before_min, found.not_after_min) == (10, 20)


@pytest.mark.parametrize(("air_c", "opens_c", "closes_c"), [(0.0, 0.0, 15.0), (45.0, 35.0, 45.0)])
def test_outside_the_range_a_window_opens_at_the_later_and_closes_at_the_earlier_moment(
    air_c, opens_c, closes_c
):
    found = window_in(air_c, BY_AIR)
    assert found.not_before_min == pytest.approx(10 * arrhenius(FLASH, opens_c), abs=0.1)
    assert found.not_after_min == pytest.approx(30 * arrhenius(FLASH, closes_c), abs=0.1)
    assert f"{air_c:g} °C is outside 15 to 35 °C" in found.note


@settings(max_examples=80)
@given(st.floats(-20, 60), st.floats(-20, 60), st.floats(0, 120))
def test_warmer_air_never_opens_a_window_later_nor_closes_it_later(one_c, other_c, activation):
    window = replace(PROMOTER_WINDOW, by_temperature=replace(FLASH, activation_kj_per_mol=activation))
    cold, warm = (window_in(air_c, window) for air_c in sorted((one_c, other_c)))
    assert warm.not_before_min <= cold.not_before_min
    assert warm.not_after_min <= cold.not_after_min


def test_a_window_that_stays_open_stays_open_in_any_air():
    assert window_in(30.0, replace(BY_AIR, not_after_min=None)).not_after_min is None
