"""Where the proof finds every window kept, no job of any size in any air misses one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from planning_examples import acyclic_catalogues, make_pack, make_stage, make_substrate

from planning.arranging import arranged
from planning.job import job_of
from planning.timing.keeping import why_not_kept
from planning.timing.temporal import InconsistentWindows
from planning.timing.timeline import timeline
from rules.conditions import All, Value, Within
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.pack import Decide, Disposition, Kinetics, Pack, ParameterValue, Rule, Stage, Wait, Window, Work
from rules.proof.domain import domain_of
from rules.proof.fault import Fault
from rules.proof.outcomes import outcomes_of
from rules.proof.windows import unkept_windows
from rules.vocabulary import Fact, Kind, Origin, Vocabulary

REPAIR = Decide(Disposition.REPAIR, "Invented.")


def number(name: str, low: float, high: float, *cuts: float, usual: float) -> Fact:
    given_as = f"/place/{name}"
    return Fact(
        name,
        Kind.NUMBER,
        Origin.LINE_ITEM,
        "invented",
        minimum=low,
        maximum=high,
        cut_points=cuts,
        default=usual,
        given_as=given_as,
    )


FACTS = (
    number("area_m2", 0.1, 4, usual=1),
    number("damage_length_mm", 0, 900, 300, usual=100),
    number("damage_count", 1, 3, usual=1),
    number("air_temperature_c", -10, 45, 15, 30, usual=20),
)
COLD = Within("air_temperature_c", None, 15.0)
SMALL_DAMAGE = Within("damage_length_mm", None, 300.0)


def pack_of(stages: Mapping[str, Stage], *rules: Rule) -> Pack:
    """Everything that `rules` ask for is repaired."""
    named = {
        rule.id: rule for rule in (Rule("repairs", All(()), "invented", "invented", decide=REPAIR), *rules)
    }
    vocabulary = Vocabulary({fact.name: fact for fact in FACTS})
    return replace(
        make_pack(stages.values()),
        vocabulary=vocabulary,
        substrates={"XX": make_substrate()},
        rules=named,
        layers=(tuple(sorted(named)),),
    )


def rule(name: str, when: object = None, **effects: object) -> Rule:
    return Rule(name, when or All(()), "invented", "invented", **effects)  # type: ignore[arg-type]


def faults_of(pack: Pack) -> list[Fault]:
    domain = domain_of(pack)
    return list(unkept_windows(outcomes_of(pack, domain), domain, partial(why_not_kept, pack)))


def is_missed(pack: Pack, facts: Mapping[str, Value]) -> bool:
    """Whether the procedure for these facts cannot keep its windows."""
    decision = Decider(pack, ReferenceEngine(pack)).decide(facts)
    plan = arranged(pack, decision.stages, decision.settings, {}, job_of(facts))
    work_min = {name: size.work_min.p50 for name, size in plan.sizes.items()}
    wait_min = {name: size.wait_min for name, size in plan.sizes.items()}
    try:
        timeline(list(plan.sizes), work_min, wait_min, plan.lags, None)
    except InconsistentWindows:
        return True
    return False


waits = st.sampled_from(
    [
        Wait(0.0),
        Wait(10.0),
        Wait(10.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0),
        Wait(20.0, 20.0, Kinetics.CURE, 55.0, 5.0, 40.0),
    ]
)
works = st.sampled_from([Work(1.0), Work(5.0), Work(2.0, per_m2_min=3.0), Work(1.0, per_dm_min=1.0)])


@st.composite
def packs(draw: st.DrawFn) -> Pack:
    """Stages with works, waits and windows, most of them asked for, some only for small damages."""
    plain = draw(acyclic_catalogues(6))
    windows = st.builds(
        Window,
        st.lists(st.sampled_from(sorted(plain)), min_size=1, max_size=2, unique=True).map(tuple),
        st.sampled_from([0.0, 5.0]),
        st.sampled_from([12.0, 20.0, 40.0, 80.0, None]),
        st.none(),
    )
    stages = {
        name: replace(stage, wait=draw(waits), work=draw(works), window=draw(st.none() | st.none() | windows))
        for name, stage in plain.items()
    }
    required = st.lists(st.sampled_from(sorted(stages)), unique=True).map(tuple)
    timing: st.SearchStrategy[Mapping[tuple[str, str], ParameterValue]] = st.dictionaries(
        st.tuples(st.sampled_from(sorted(stages)), st.sampled_from(["wait_min", "coats", "temperature_c"])),
        st.sampled_from([1.0, 2.0, 30.0]),
        max_size=2,
    )
    return pack_of(
        stages,
        rule("always", require=tuple(sorted(stages))[: draw(st.integers(2, 6))]),
        rule("small", SMALL_DAMAGE, require=draw(required)),
        rule("cold", COLD, settings=draw(timing)),
    )


line_items = st.fixed_dictionaries(
    {
        fact.name: st.sampled_from([fact.minimum, *fact.cut_points, fact.maximum])
        | st.floats(fact.minimum, fact.maximum)
        for fact in FACTS
    }
)


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
@given(packs(), st.lists(line_items, min_size=1, max_size=8))
def test_windows_that_are_proven_are_kept_by_every_job(pack: Pack, jobs: list[Mapping[str, Value]]) -> None:
    assume(any(stage.window for stage in pack.stages.values()))
    assume(not faults_of(pack))
    assert not any(is_missed(pack, facts) for facts in jobs)


@settings(max_examples=100, deadline=None)
@given(packs(), st.lists(line_items, min_size=1, max_size=8))
def test_a_window_that_some_job_misses_is_found(pack: Pack, jobs: list[Mapping[str, Value]]) -> None:
    if any(is_missed(pack, facts) for facts in jobs):
        assert faults_of(pack)


def test_the_largest_job_in_the_coldest_air_is_the_witness() -> None:
    stages = {
        "clean": make_stage("clean", window=Window(("paint",), 0.0, 20.0, None)),
        "mask": make_stage("mask", after=("clean",), work=Work(1.0, per_dm_min=1.0)),
        "paint": make_stage("paint", after=("mask",)),
    }
    small = rule("small", SMALL_DAMAGE, require=("clean", "mask", "paint"))
    assert faults_of(pack_of(stages, small)) == []
    stages["clean"] = replace(stages["clean"], wait=Wait(12.0, 20.0, Kinetics.EVAPORATION, 40.0, 5.0, 35.0))
    (fault,) = faults_of(pack_of(stages, small))
    assert fault.code == "R608"
    assert fault.witness is not None
    assert fault.witness.facts == {
        "area_m2": 4.0,
        "damage_length_mm": 299.0,
        "damage_count": 3.0,
        "air_temperature_c": -10.0,
    }
    assert is_missed(pack_of(stages, small), fault.witness.facts)
