"""Rounding of figures for people."""

from __future__ import annotations

import pytest

from planning.rounding import tenth, tenth_down, tenth_up


@pytest.mark.parametrize(
    ("value", "rounded"), [(1.1, 1.1), (0.1 + 0.2, 0.3), (1.101, 1.2), (0.0, 0.0), (-1.19, -1.1)]
)
def test_rounding_up_goes_to_the_next_tenth_and_leaves_tenths_alone(value, rounded):
    assert tenth_up(value) == rounded
    assert tenth_down(-value) == -rounded


def test_nearest_tenth_and_no_tenth_is_negative_zero():
    assert tenth(1.26) == 1.3
    assert str(tenth(-0.01)) == str(tenth_up(-0.01)) == str(tenth_down(0.01)) == "0.0"
