"""Packages: enough, little left over, fewest."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.materials.model import Package
from planning.materials.packages import bought_ml, packages_for

sizes = st.sets(st.sampled_from([50, 75, 100, 200, 250, 500]), min_size=1, max_size=3)


@pytest.mark.parametrize(
    ("quantity_ml", "sizes_ml", "expected"),
    [
        (60, (50.0, 200.0), [(50, 2)]),
        (150, (50.0, 200.0), [(50, 3)]),
        (151, (50.0, 200.0), [(200, 1)]),
        (900, (50.0, 200.0), [(200, 4), (50, 2)]),
        (1000, (1000.0,), [(1000, 1)]),
        (1001, (1000.0,), [(1000, 2)]),
        (5000, (946.0, 3785.0), [(3785, 1), (946, 2)]),  # a millilitre more than 6 of 946
        (980, (50.0, 200.0), [(200, 5)]),  # 20 ml over: none is left over less
        (950, (50.0, 200.0), [(200, 4), (50, 3)]),  # 5 of 200 leave 50 over, more than 47.5
        (1050, (50.0, 200.0), [(200, 5), (50, 1)]),
        (3950, (50.0, 200.0), [(200, 20)]),  # 50 over beyond the least, of 197.5, and 3 packages fewer
    ],
)
def test_examples(quantity_ml, sizes_ml, expected):
    found = packages_for(quantity_ml, sizes_ml)
    assert {(each.size_ml, each.count) for each in found} == set(expected)
    assert [each.size_ml for each in found] == sorted((each.size_ml for each in found), reverse=True)


@given(st.integers(1, 1200), sizes)
def test_no_choice_that_leaves_little_over_is_fewer_and_none_of_as_many_leaves_less(quantity_ml, sizes_ml):
    """Little: the least that can be left over, and up to 5 % of the need beyond it."""
    found = packages_for(quantity_ml, tuple(map(float, sizes_ml)))
    most = [range((quantity_ml + quantity_ml // 20) // size + 2) for size in sizes_ml]
    choices = [
        (sum(counts), left)
        for counts in product(*most)
        if (left := sum(size * count for size, count in zip(sizes_ml, counts, strict=True)) - quantity_ml)
        >= 0
    ]
    least = min(left for _, left in choices)
    little = [(count, left) for count, left in choices if left - least <= quantity_ml * 0.05]
    assert (sum(each.count for each in found), bought_ml(found) - quantity_ml) == min(little)


@given(st.integers(1, 10_000_000), sizes)
def test_what_is_bought_is_enough_and_little_more_than_the_smallest_too_much(quantity_ml, sizes_ml):
    found = packages_for(quantity_ml, tuple(map(float, sizes_ml)))
    assert 0 <= bought_ml(found) - quantity_ml < min(sizes_ml) + quantity_ml * 0.05


def test_nothing_is_bought_for_nothing_or_without_sizes():
    assert packages_for(0, (50.0,)) == packages_for(10, ()) == ()
    assert packages_for(10, (50.0,)) == (Package(50, 1),)
