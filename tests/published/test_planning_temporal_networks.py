"""Temporal networks and critical paths against printed examples."""

from __future__ import annotations

import pytest
from critical_paths import critical_path

from planning.timing.temporal import Constraint, InconsistentWindows, minimal_network

# R. Dechter, I. Meiri and J. Pearl, Temporal constraint networks, Artificial Intelligence 49 (1991),
# the example of John and Fred. Moment 0 is 7:00; 1 and 2: John leaves, arrives; 3 and 4: Fred leaves,
# arrives. The lags were read in public code that holds the example, the matrix is from memory; the
# results of the other ways to travel were computed apart from this project.
MOMENTS = ("0", "1", "2", "3", "4")
STATED = (
    Constraint("0", "1", 10, 20),
    Constraint("3", "2", 10, 20),
    Constraint("0", "4", 60, 70),
)
JOHN = {"car": Constraint("1", "2", 30, 40), "bus": Constraint("1", "2", 60)}
FRED = {"car": Constraint("3", "4", 20, 30), "pool": Constraint("3", "4", 40, 50)}


def labelling(john, fred):
    return minimal_network(MOMENTS, [*STATED, JOHN[john], FRED[fred]])


def test_distances_of_john_by_car_and_fred_by_pool():
    assert labelling("car", "pool").distances.tolist() == [
        [0, 20, 50, 30, 70],
        [-10, 0, 40, 20, 60],
        [-40, -30, 0, -10, 30],
        [-20, -10, 20, 0, 50],
        [-60, -50, -20, -40, 0],
    ]


def test_earliest_times_of_john_by_car_and_fred_by_pool():
    assert labelling("car", "pool").earliest() == {"0": 0, "1": 10, "2": 40, "3": 20, "4": 60}


def test_john_by_bus_and_fred_by_pool_is_inconsistent():
    with pytest.raises(InconsistentWindows):
        labelling("bus", "pool")


def test_both_by_car_is_consistent():
    assert labelling("car", "car").earliest()["1"] == 10


def test_john_by_bus_and_fred_by_car_leaves_no_slack():
    network = labelling("bus", "car")
    assert network.earliest() == {"0": 0, "1": 10, "2": 70, "3": 50, "4": 70}
    assert network.latest("4") == network.earliest()


def test_critical_path_of_a_network_with_activities_on_arcs():
    """B. W. Taylor, Introduction to Management Science, chapter 8, printed solution."""
    length, slacks = critical_path(
        {
            "1-2": (7, ()),
            "1-3": (10, ()),
            "2-4": (6, ("1-2",)),
            "3-4": (5, ("1-3",)),
            "3-5": (4, ("1-3",)),
            "4-5": (3, ("2-4", "3-4")),
            "5-6": (2, ("3-5", "4-5")),
        }
    )
    assert length == 20
    assert list(slacks.values()) == [2, 0, 2, 0, 4, 0, 0]


def test_critical_path_of_a_library():
    """The test data of the Python package criticalpath 0.1.5: 14 by way of A, D and E."""
    length, slacks = critical_path(
        {"A": (3, ()), "B": (3, ()), "C": (4, ()), "D": (6, ("A",)), "E": (5, ("B", "C", "D"))}
    )
    assert length == 14
    assert [name for name, slack in slacks.items() if slack == 0] == ["A", "D", "E"]
