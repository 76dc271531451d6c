"""Windows and waits between stages."""

from __future__ import annotations

from planning_examples import catalogue, make_stage

from planning.timing.model import StageWindow
from planning.timing.windows import Lag, tightest, wait_lags, window_lags, windows_by_stage
from rules.pack import Window

PROMOTER_WINDOW = Window(("sealer", "primer"), 10.0, 30.0, "promoter")
STAGES = catalogue(
    make_stage("promoter", window=PROMOTER_WINDOW),
    make_stage("primer"),
    make_stage("sealer"),
    make_stage("base"),
)


def windows_of(order, parameters=None, earlier=None, wait_min=0.0):
    settings = {stage: {} for stage in order} | (parameters or {})
    dependent = {stage: frozenset() for stage in order} | (earlier or {})
    return windows_by_stage(order, STAGES, settings, dependent, dict.fromkeys(order, wait_min))


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
