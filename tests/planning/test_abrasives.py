"""Steps between abrasives, and the films that hide their scratches."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.abrasives import (
    Step,
    UnknownGrade,
    film_to_hide_um,
    grades,
    particle_size_um,
    step_ratio,
    steps_too_far,
)
from rules.loading.grades import P_GRADES

GRADES = st.sampled_from(grades())


def test_particle_size_of_a_common_grade() -> None:
    assert particle_size_um("P180") == 82


def test_every_grade_a_pack_may_name_has_a_size() -> None:
    assert grades() == P_GRADES


def test_higher_numbers_are_finer() -> None:
    assert [int(grade[1:]) for grade in grades()] == sorted(int(grade[1:]) for grade in grades())
    assert all(step_ratio(coarser, finer) > 1 for coarser, finer in pairwise(grades()))


@pytest.mark.parametrize(
    ("grade", "fix"),
    [("180", "write 'P180'"), ("p180", "write 'P180'"), ("P175", "P12 to P5000"), ("", "P12")],
)
def test_an_unknown_grade_is_refused_with_the_fix(grade: str, fix: str) -> None:
    with pytest.raises(UnknownGrade, match=fix):
        particle_size_um(grade)


@pytest.mark.parametrize(
    "sequence",
    [["P80", "P180", "P320"], ["P180", "P320", "P500"], ["P60", "P80"], ["P1500", "P3000"], ["P320"], []],
)
def test_customary_sequences_are_accepted(sequence: list[str]) -> None:
    assert steps_too_far(sequence) == []


@pytest.mark.parametrize(("first", "following"), [("P80", "P320"), ("P36", "P80"), ("P180", "P800")])
def test_a_step_too_far_is_named(first: str, following: str) -> None:
    assert steps_too_far(["P36", "P36", first, following])[-1] == Step(
        first, following, step_ratio(first, following)
    )


def test_going_back_to_a_coarser_grade_is_not_too_far() -> None:
    assert steps_too_far(["P500", "P80"]) == []


@given(GRADES, GRADES, GRADES)
def test_ratios_multiply_along_a_sequence(first: str, second: str, third: str) -> None:
    assert step_ratio(first, second) * step_ratio(second, third) == pytest.approx(step_ratio(first, third))


@given(st.lists(GRADES, min_size=1), st.integers(min_value=0))
def test_a_repeated_grade_changes_nothing(sequence: list[str], index: int) -> None:
    place = index % len(sequence)
    repeated = [*sequence[: place + 1], *sequence[place:]]
    assert steps_too_far(repeated) == steps_too_far(sequence)


@pytest.mark.parametrize(
    ("grade", "film_um", "hidden"),
    [("P180", 80, True), ("P80", 80, False), ("P500", 20, True), ("P320", 20, False)],
)
def test_a_film_hides_what_the_trade_says_it_hides(grade: str, film_um: float, hidden: bool) -> None:
    """Two coats of primer surfacer hide P180, not P80; base coat hides P500, not P320: common practice."""
    assert (film_to_hide_um(grade) <= film_um) is hidden
