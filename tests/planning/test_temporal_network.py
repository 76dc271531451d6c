"""Simple temporal networks on random graphs, against brute force."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.timing.temporal import Constraint, InconsistentWindows, minimal_network

MOMENTS = ("origin", "a", "b", "c", "d")


@st.composite
def networks(draw):
    """Whole minutes, so that brute force and shortest paths are both exact; the origin comes first."""
    constraints = [Constraint("origin", moment, 0) for moment in MOMENTS[1:]]
    pairs = st.tuples(st.sampled_from(MOMENTS), st.sampled_from(MOMENTS)).filter(
        lambda pair: pair[0] != pair[1]
    )
    for earlier, later in draw(st.lists(pairs, max_size=7)):
        least = draw(st.integers(-20, 40))
        most = draw(st.none() | st.integers(least, 60))
        constraints.append(Constraint(earlier, later, least, most))
    return constraints


def arcs_of(constraints):
    arcs = {}
    for constraint in constraints:
        back = (constraint.later, constraint.earlier)
        arcs[back] = min(arcs.get(back, float("inf")), -constraint.at_least_min)
        if constraint.at_most_min is not None:
            forth = (constraint.earlier, constraint.later)
            arcs[forth] = min(arcs.get(forth, float("inf")), constraint.at_most_min)
    return arcs


def has_negative_circle(constraints):
    """Every simple circle of the distance graph, one by one."""
    arcs = arcs_of(constraints)
    return any(
        sum(arcs.get(arc, float("inf")) for arc in zip(circle, (*circle[1:], circle[0]), strict=True)) < 0
        for length in range(2, len(MOMENTS) + 1)
        for circle in permutations(MOMENTS, length)
    )


def holds(constraint, times):
    lag = times[constraint.later] - times[constraint.earlier]
    return constraint.at_least_min <= lag and (
        constraint.at_most_min is None or lag <= constraint.at_most_min
    )


@settings(max_examples=80)
@given(networks())
def test_inconsistent_exactly_where_brute_force_finds_a_negative_circle(constraints):
    if has_negative_circle(constraints):
        with pytest.raises(InconsistentWindows) as caught:
            minimal_network(MOMENTS, constraints)
        assert caught.value.excess_min > 0
        assert len(caught.value.bounds) >= 2
    else:
        minimal_network(MOMENTS, constraints)


@settings(max_examples=80)
@given(networks())
def test_earliest_times_satisfy_every_constraint_and_none_can_be_earlier(constraints):
    try:
        network = minimal_network(MOMENTS, constraints)
    except InconsistentWindows:
        return
    times = network.earliest()
    assert all(holds(constraint, times) for constraint in constraints)
    for moment in MOMENTS[1:]:
        hurried = [*constraints, Constraint("origin", moment, 0, times[moment] - 1)]
        assert has_negative_circle(hurried)


@settings(max_examples=80)
@given(networks())
def test_latest_times_keep_the_finish_and_none_can_be_later(constraints):
    finished = [*constraints, *(Constraint(moment, "d", 0) for moment in MOMENTS[:-1])]
    try:
        network = minimal_network(MOMENTS, finished)
    except InconsistentWindows:
        return
    earliest, latest = network.earliest(), network.latest("d")
    assert latest["d"] == earliest["d"]
    assert all(latest[moment] >= earliest[moment] for moment in MOMENTS)
    assert all(holds(constraint, latest) for constraint in finished)
    kept = [*finished, Constraint("origin", "d", 0, earliest["d"])]
    for moment in MOMENTS[1:-1]:
        assert has_negative_circle([*kept, Constraint("origin", moment, latest[moment] + 1)])


def test_inconsistency_names_the_constraints_concerned_and_no_others():
    constraints = [
        Constraint("origin", "end of clean", 5),
        Constraint("end of clean", "start of prime", 10, 30),
        Constraint("end of clean", "end of mask", 45.5),
        Constraint("end of mask", "start of prime", 0),
        Constraint("start of prime", "end of prime", 8, 8),
    ]
    moments = ("origin", "end of clean", "end of mask", "start of prime", "end of prime")
    with pytest.raises(InconsistentWindows, match=r"by 15\.5 min") as caught:
        minimal_network(moments, constraints)
    assert set(caught.value.bounds) == {
        "start of prime at most 30 min after end of clean",
        "end of mask at least 45.5 min after end of clean",
        "start of prime not before end of mask",
    }


def test_decimal_minutes_that_just_fit_are_consistent():
    moments = ("a", "b", "c", "d")
    constraints = [
        Constraint("a", "b", 0.1),
        Constraint("b", "c", 0.2),
        Constraint("c", "d", 0.7),
        Constraint("a", "d", 0, 1),
    ]
    assert minimal_network(moments, constraints).earliest()["d"] == pytest.approx(1)


def test_moment_without_constraints_is_unbounded():
    network = minimal_network(("a", "b"), [])
    assert network.distances[0, 1] == float("inf")
