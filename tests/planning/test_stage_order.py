"""The order of stages."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_examples import PHASES, acyclic_catalogues, catalogue, make_stage

from planning.order import StageCircle, dependencies, ordered


def reaches(stages, start, goal):
    """Whether `start` comes after `goal`, by walking every path."""
    return any(earlier == goal or reaches(stages, earlier, goal) for earlier in stages[start].after)


@st.composite
def catalogues_with_present(draw):
    stages = draw(acyclic_catalogues())
    return stages, draw(st.sets(st.sampled_from(sorted(stages))))


@settings(max_examples=60)
@given(catalogues_with_present())
def test_order_keeps_every_dependency_also_through_absent_stages(example):
    stages, present = example
    order = ordered(stages, present, PHASES)
    assert sorted(order) == sorted(present)
    for position, stage in enumerate(order):
        assert not any(reaches(stages, stage, later) for later in order[position:])


@settings(max_examples=60)
@given(catalogues_with_present())
def test_dependencies_are_the_pairs_that_some_path_joins(example):
    stages, present = example
    expected = {
        stage: {earlier for earlier in present if reaches(stages, stage, earlier)} for stage in present
    }
    assert dependencies(stages, present) == expected


@settings(max_examples=60)
@given(catalogues_with_present(), st.randoms())
def test_order_does_not_depend_on_how_the_catalogue_is_written(example, shuffler: random.Random):
    stages, present = example
    names = list(stages)
    shuffler.shuffle(names)
    rewritten = {}
    for name in names:
        after = list(stages[name].after)
        shuffler.shuffle(after)
        rewritten[name] = make_stage(name, after=tuple(after), phase=stages[name].phase)
    listed = sorted(present)
    shuffler.shuffle(listed)
    assert ordered(rewritten, listed, PHASES) == ordered(stages, present, PHASES)


def test_absent_stage_still_joins_its_neighbours():
    stages = catalogue(
        make_stage("a", after=("b",), phase="clean"),
        make_stage("b", after=("c",)),
        make_stage("c", phase="paint"),
    )
    assert ordered(stages, ["a", "c"], PHASES) == ("c", "a")


def test_free_stages_come_by_phase_then_by_id():
    stages = catalogue(
        make_stage("a", phase="paint"), make_stage("z", phase="clean"), make_stage("m", phase="clean")
    )
    assert ordered(stages, stages, PHASES) == ("m", "z", "a")


def test_stages_set_free_later_come_by_phase_too():
    stages = catalogue(
        make_stage("first"),
        make_stage("a", phase="paint", after=("first",)),
        make_stage("z", after=("first",)),
    )
    assert ordered(stages, stages, PHASES) == ("first", "z", "a")


def test_no_stages_have_an_order():
    assert ordered({}, [], PHASES) == ()


def test_circle_is_named_with_the_absent_stages_in_it():
    stages = catalogue(
        make_stage("a", after=("b",)), make_stage("b", after=("c",)), make_stage("c", after=("a",))
    )
    with pytest.raises(StageCircle, match="a after b after c after a") as caught:
        ordered(stages, ["a"], PHASES)
    assert caught.value.circle == ("a", "b", "c", "a")


def test_stage_after_itself_is_a_circle():
    with pytest.raises(StageCircle, match="a after a"):
        ordered(catalogue(make_stage("a", after=("a",))), ["a"], PHASES)


def test_circle_of_absent_stages_does_not_hinder_an_order():
    stages = catalogue(
        make_stage("a", after=("x",)),
        make_stage("x", after=("y", "b")),
        make_stage("y", after=("x",)),
        make_stage("b"),
    )
    assert ordered(stages, ["a", "b"], PHASES) == ("b", "a")
