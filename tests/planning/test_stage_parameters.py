"""Parameters and the instructions that name them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_examples import make_stage

from planning.parameters import filled_in, number, parameters_of, text
from rules.decision import Setting


def test_rules_overlay_the_catalogue_and_the_substrate_overlays_both():
    stage = make_stage(
        "bake",
        parameters={"coats": 1.0, "temperature_c": 60.0, "grip": "low"},
        from_substrate={"temperature_c": "bake_limit_c"},
    )
    settings = {
        ("bake", "coats"): Setting(2.0, ("r",)),
        ("bake", "temperature_c"): Setting(90.0, ("r",)),
        ("other", "grip"): Setting("high", ("r",)),
    }
    found = parameters_of(stage, settings, {"bake_limit_c": 80.0})
    assert found == {"coats": 2.0, "temperature_c": 80.0, "grip": "low"}


@pytest.mark.parametrize(
    ("value", "written"), [(2.0, "2"), (2.5, "2.5"), (1234567.0, "1234567"), (True, "yes"), ("P180", "P180")]
)
def test_values_are_written_as_people_write_them(value, written):
    assert filled_in("Take {it}.", {"it": value}) == f"Take {written}."


@pytest.mark.parametrize(
    "instruction", ["{unknown}", "{coats.real}", "{coats!r}", "{coats:>99}", "{}", "{0}", "{{", "}"]
)
def test_nothing_but_a_declared_name_is_replaced(instruction):
    assert filled_in(instruction, {"coats": 2.0}) == instruction


@given(st.text())
def test_text_without_parameters_stays_as_it_is(instruction):
    assert filled_in(instruction, {}) == instruction


def test_value_that_looks_like_a_placeholder_is_not_replaced_again():
    assert filled_in("{a}", {"a": "{b}", "b": "no"}) == "{b}"


def test_number_is_a_number():
    assert number({"coats": 2}, "coats") == 2.0
    assert number({}, "coats") is None
    assert text({"abrasive": "P180"}, "abrasive") == "P180"
    assert text({}, "abrasive") is None
    for wrong in (True, "2"):
        with pytest.raises(ValueError, match="must be a number"):
            number({"coats": wrong}, "coats")
