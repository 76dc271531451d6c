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
from planning.timing.earliest import earliest
from planning.timing.keeping import why_not_kept
from planning.timing.temporal import InconsistentWindows
from rules.conditions import All, Value, Within
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.kinetics import ByFilm, ByHumidity, ByTemperature, Heat
from rules.pack import (
    Climate,
    Decide,
    Disposition,
    Kinetics,
    Material,
    Pack,
    ParameterValue,
    Rule,
    Stage,
    Wait,
    Window,
    Work,
)
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
    number("relative_humidity_pct", 0, 100, 85, usual=50),
)
LIMIT = Fact("bake_limit_c", Kind.NUMBER, Origin.SUBSTRATE, "invented", minimum=30, maximum=120)
PLASTICS = {f"P{limit_c:g}": {"bake_limit_c": limit_c} for limit_c in (45.0, 80.0)}
PAINT = Material(
    "paint",
    "Paint",
    "coating",
    "invented",
    film_um=30.0,
    by_film=ByFilm(60.0, 2.0),
    by_humidity=ByHumidity(50.0, 20.0, 80.0),
)
COLD = Within("air_temperature_c", None, 15.0)
SMALL_DAMAGE = Within("damage_length_mm", None, 300.0)


def pack_of(stages: Mapping[str, Stage], *rules: Rule) -> Pack:
    """Everything that `rules` ask for is repaired."""
    named = {
        rule.id: rule for rule in (Rule("repairs", All(()), "invented", "invented", decide=REPAIR), *rules)
    }
    vocabulary = Vocabulary({fact.name: fact for fact in (*FACTS, LIMIT)})
    return replace(
        make_pack(stages.values(), [PAINT]),
        vocabulary=vocabulary,
        substrates={name: replace(make_substrate(**row), symbol=name) for name, row in PLASTICS.items()},
        rules=named,
        layers=(tuple(sorted(named)),),
    )


def rule(name: str, when: object = None, **effects: object) -> Rule:
    return Rule(name, when or All(()), "invented", "invented", **effects)  # type: ignore[arg-type]


def faults_of(pack: Pack) -> list[Fault]:
    domain = domain_of(pack)
    return list(unkept_windows(outcomes_of(pack, domain), domain, partial(why_not_kept, pack)))


def is_missed(pack: Pack, facts: Mapping[str, Value]) -> bool:
    """Whether the procedure for these facts cannot keep its windows on some plastic."""
    return any(is_missed_on(pack, facts, properties) for properties in PLASTICS.values())


def is_missed_on(pack: Pack, facts: Mapping[str, Value], properties: Mapping[str, Value]) -> bool:
    decision = Decider(pack, ReferenceEngine(pack)).decide({**facts, **properties})
    try:
        earliest(arranged(pack, decision, properties, job_of(facts)).course)
    except InconsistentWindows:
        return True
    return False


waits = st.sampled_from(
    [
        Wait(0.0),
        Wait(10.0),
        Wait(10.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0),
        Wait(20.0, 20.0, Kinetics.CURE, 55.0, 5.0, 40.0),
        Wait(8.0, 20.0, Kinetics.EVAPORATION, 30.0, 15.0, 35.0, by_humidity=ByHumidity(60.0, 20.0, 80.0)),
        Wait(20.0, 40.0, Kinetics.CURE, 55.0, 15.0, 60.0, heat=Heat(4.0, 3.0)),
    ]
)
terms = st.none() | st.sampled_from(
    [ByTemperature(20.0, 40.0, 15.0, 35.0), ByTemperature(20.0, 80.0, 0.0, 25.0)]
)
climates = st.sampled_from([Climate(20.0, 20.0), Climate(air_c=26.0), Climate(humidity_pct=60.0)])
works = st.sampled_from([Work(1.0), Work(5.0), Work(2.0, per_m2_min=3.0), Work(1.0, per_dm_min=1.0)])


@st.composite
def packs(draw: st.DrawFn) -> Pack:
    """Stages with works, waits and windows, most of them asked for, some only for small damages."""
    plain = draw(acyclic_catalogues(6))
    windows = st.builds(
        Window,
        st.lists(st.sampled_from(sorted(plain)), min_size=1, max_size=2, unique=True).map(tuple),
        st.sampled_from([0.0, 5.0]),
        st.sampled_from([12.0, 20.0, 40.0, 80.0, 200.0, None]),
        st.none(),
        terms,
    )
    stages = {
        name: replace(
            stage,
            wait=draw(waits),
            work=draw(works),
            window=draw(st.none() | st.none() | windows),
            materials=draw(st.sampled_from([(), (), ("paint",)])),
            parameters=draw(st.sampled_from([{}, {"covers": "repair", "around_mm": 300.0}])),
            brings=draw(st.sampled_from([None, None, None, True])) and draw(climates),
        )
        for name, stage in plain.items()
    }
    required = st.lists(st.sampled_from(sorted(stages)), unique=True).map(tuple)
    timing: st.SearchStrategy[Mapping[tuple[str, str], ParameterValue]] = st.dictionaries(
        st.tuples(st.sampled_from(sorted(stages)), st.sampled_from(["wait_min", "coats", "temperature_c"])),
        st.sampled_from([1.0, 2.0, 30.0, 60.0]),
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
        "relative_humidity_pct": 50,
    }
    assert is_missed(pack_of(stages, small), fault.witness.facts)


def covered(closes_min: float, *, by_air: bool, **rest: object) -> dict[str, Stage]:
    """A flash that is longer in the cold, in a window that closes early in the heat or never moves."""
    term = ByTemperature(20.0, 40.0, -10.0, 45.0)
    window = Window(("paint",), 0.0, closes_min, None, term if by_air else None)
    wait = Wait(10.0, 20.0, Kinetics.EVAPORATION, 40.0, -10.0, 45.0)
    return {
        "promote": make_stage("promote", window=window, wait=wait, **rest),
        "paint": make_stage("paint", after=("promote",)),
    }


def test_a_window_that_moves_with_its_wait_is_kept_in_any_air() -> None:
    both = rule("both", require=("promote", "paint"))
    assert faults_of(pack_of(covered(12.0, by_air=True), both)) == []
    assert faults_of(pack_of(covered(12.0, by_air=False), both)) != []


def test_a_window_that_shuts_early_in_warm_air_is_refused_there() -> None:
    stages = covered(30.0, by_air=True)
    stages["mask"] = make_stage("mask", minutes=9.0, after=("promote",))
    stages["paint"] = replace(stages["paint"], after=("mask",))
    all_three = rule("all", require=("promote", "mask", "paint"))
    (fault,) = faults_of(pack_of(stages, all_three))
    assert fault.witness is not None
    assert fault.witness.facts["air_temperature_c"] > 30
    assert (
        faults_of(pack_of(stages | covered(45.0, by_air=True) | {"paint": stages["paint"]}, all_three)) == []
    )


def test_a_place_that_is_brought_to_temperature_first_is_as_warm_as_that() -> None:
    stages = covered(14.0, by_air=False)
    both = rule("both", require=("promote", "paint"))
    warms = {"bring": make_stage("bring", brings=Climate(air_c=20.0))}
    cold = rule("cold", COLD, require=("bring",))
    assert faults_of(pack_of(stages | warms, both, cold)) == []
    late = {"warms-late": make_stage("warms-late", phase="paint", brings=Climate(air_c=20.0))}
    assert faults_of(pack_of(stages | late, both, rule("cold", COLD, require=("warms-late",)))) != []


def test_a_bake_is_reckoned_for_the_plastic_that_takes_least_heat() -> None:
    bake = Wait(20.0, 60.0, Kinetics.CURE, 60.0, 20.0, 80.0, heat=Heat(4.0))
    window = Window(("paint",), 0.0, 60.0, None)
    stages = {
        "bake": make_stage("bake", wait=bake, window=window, parameters={"temperature_c": 60.0}),
        "paint": make_stage("paint", after=("bake",)),
    }
    pack = pack_of(stages, rule("both", require=("bake", "paint")))
    assert not is_missed_on(pack, {}, PLASTICS["P80"])
    assert is_missed_on(pack, {}, PLASTICS["P45"])
    assert faults_of(pack) != []


def painted(closes_min: float, coats: float = 2.0) -> Pack:
    """Paint in two coats of 30 µm, stated for 60 µm at 50 %, under a window; the next coat follows."""
    flash = Wait(10.0, 20.0, Kinetics.EVAPORATION, 0.0, -10.0, 45.0)
    window = Window(("clear",), 0.0, closes_min, None)
    stages = {
        "paint": make_stage(
            "paint", wait=flash, window=window, materials=("paint",), parameters={"coats": coats}
        ),
        "clear": make_stage("clear", after=("paint",)),
    }
    return pack_of(stages, rule("both", require=("paint", "clear")))


def test_what_dries_by_evaporation_of_water_is_reckoned_in_the_dampest_air() -> None:
    assert faults_of(painted(99.0)) != []
    assert is_missed(painted(99.0), {"relative_humidity_pct": 100.0})
    assert faults_of(painted(100.0)) == []


def test_a_thicker_film_needs_a_longer_window() -> None:
    assert faults_of(painted(399.0, coats=4.0)) != []
    assert is_missed(painted(399.0, coats=4.0), {"relative_humidity_pct": 100.0})
    assert faults_of(painted(400.0, coats=4.0)) == []


def test_air_that_is_cooled_may_become_as_damp_as_can_be() -> None:
    stages = {**painted(60.0).stages, "cools": make_stage("cools", brings=Climate(air_c=10.0))}
    both = rule("both", Within("relative_humidity_pct", None, 85.0), require=("paint", "clear"))
    hot = rule("hot", Within("air_temperature_c", 30.0, None), require=("cools",))
    assert faults_of(pack_of(stages, both)) == []
    assert is_missed(pack_of(stages, both, hot), {"air_temperature_c": 45.0, "relative_humidity_pct": 50.0})
    assert faults_of(pack_of(stages, both, hot)) != []
