"""What makes work longer: size, coats, and how hard the spot is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_examples import facts_with, make_decision, make_pack, make_stage, make_substrate

from planning.assumptions import bearing, idle_facts
from planning.job import Job, job_of
from planning.model import Terms
from planning.procedure import plan
from planning.timing.difficulty import difficulty
from planning.timing.durations import median_work_min
from rules.bearing import facts_of_work_alone
from rules.intake import Assumption
from rules.pack import Work

# Invented factors.
HARDER = {"contour": {"curved": 1.15, "tight": 1.35}, "at_edge": {"true": 1.2}}
WORK = Work(fixed_min=5, per_m2_min=4, per_dm_min=3, harder=HARDER)
EASY = {"contour": "flat", "at_edge": False}


@pytest.mark.parametrize(
    ("said", "factor"),
    [
        (EASY, 1.0),
        (EASY | {"contour": "curved"}, 1.15),
        (EASY | {"at_edge": True}, 1.2),
        ({"contour": "tight", "at_edge": True}, 1.35 * 1.2),
        ({"contour": "tight"}, 1.35 * 1.2),
        ({}, 1.35 * 1.2),
    ],
)
def test_factors_multiply_and_what_is_not_said_is_taken_at_its_hardest(said, factor):
    assert difficulty(HARDER, said) == pytest.approx(factor)


def test_work_that_nothing_makes_harder_is_as_long_as_ever():
    assert difficulty({}, {"contour": "tight"}) == 1.0


def test_a_hard_spot_lengthens_what_goes_by_size_and_not_the_setting_up():
    size = Job(area_m2=2.0, damage_length_mm=150.0, damage_count=1.0, said=EASY)
    hard = replace(size, said={"contour": "tight", "at_edge": True})
    assert median_work_min(WORK, {}, size) == 5 + 12.5
    assert median_work_min(WORK, {}, hard) == pytest.approx(5 + 1.62 * 12.5)
    assert median_work_min(WORK, {"coats": 2.0}, hard) == pytest.approx(2 * (5 + 1.62 * 12.5))


def test_what_a_line_item_says_in_words_comes_to_the_job():
    job = job_of({"area_m2": 2.0, "contour": "tight", "at_edge": True})
    assert (job.area_m2, job.said) == (2.0, {"contour": "tight", "at_edge": True})


works = st.builds(
    Work,
    fixed_min=st.floats(0, 60),
    per_m2_min=st.floats(0, 30),
    per_dm_min=st.floats(0, 30),
    harder=st.fixed_dictionaries(
        {
            "contour": st.dictionaries(st.sampled_from(["flat", "curved", "tight"]), st.floats(1, 5)),
            "at_edge": st.fixed_dictionaries({"true": st.floats(1, 5)}),
        }
    ),
)
jobs = st.builds(
    Job,
    area_m2=st.floats(0.01, 10),
    damage_length_mm=st.floats(0, 3000),
    damage_count=st.integers(1, 50).map(float),
    said=st.fixed_dictionaries(
        {"contour": st.sampled_from(["flat", "curved", "tight"]), "at_edge": st.booleans()}
    ),
)


@settings(max_examples=80)
@given(works, jobs)
def test_no_difficulty_shortens_the_work_and_none_exceeds_the_hardest(work, job):
    plain = median_work_min(replace(work, harder={}), {}, job)
    hardest = median_work_min(work, {}, replace(job, said={}))
    found = median_work_min(work, {}, job)
    assert plain <= found * (1 + 1e-12)
    assert found <= hardest * (1 + 1e-12)


@settings(max_examples=80)
@given(works, jobs, st.floats(0, 500), st.floats(0, 5), st.integers(1, 5), st.integers(0, 5))
def test_more_work_is_never_shorter(work, job, longer_mm, larger_m2, coats, more_coats):
    """A longer damage, a larger area, another damage, more coats or passes."""
    few, many = {"coats": float(coats)}, {"coats": float(coats + more_coats)}
    longer = replace(job, damage_length_mm=job.damage_length_mm + longer_mm)
    larger = replace(job, area_m2=job.area_m2 + larger_m2)
    another = replace(job, damage_count=job.damage_count + 1)
    least = median_work_min(work, few, job)
    assert least <= median_work_min(work, many, job)
    assert all(least <= median_work_min(work, few, more) for more in (longer, larger, another))
    assert least <= median_work_min(work, few | {"passes": float(1 + more_coats)}, job)


def assumed(*facts: str) -> tuple[Assumption, ...]:
    return tuple(Assumption(fact, "curved", f"/damage/{fact}") for fact in facts)


def test_an_assumption_is_told_where_a_stage_is_the_harder_for_it():
    pack = make_pack([make_stage("grind", work=WORK), make_stage("look")])
    assert facts_of_work_alone(pack) == {"contour", "at_edge"}
    complete = replace(facts_with(contour="curved", at_edge=False), assumptions=assumed("contour", "area_m2"))

    def told(*stages: str) -> list[str]:
        found = plan(pack, make_substrate(), complete, make_decision(stages), Terms())
        return [assumption.fact for assumption in found.assumptions]

    assert told("look") == ["area_m2"]
    assert told("look", "grind") == ["contour", "area_m2"]


def test_without_stages_nothing_of_the_work_is_assumed():
    pack = make_pack([make_stage("grind", work=WORK)])
    assert bearing(assumed("contour", "at_edge", "through"), idle_facts(pack, ())) == assumed("through")
