"""From a decision to a procedure, on a small invented pack."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_examples import (
    acyclic_catalogues,
    facts_with,
    make_caution,
    make_decision,
    make_pack,
    make_stage,
    make_substrate,
)

from planning.costs.model import Rates
from planning.model import Terms
from planning.order import dependencies
from planning.procedure import plan
from planning.timing.model import Quantiles, StageWindow
from planning.timing.temporal import InconsistentWindows
from rules.pack import Application, Disposition, Kinetics, Material, Wait, Window, Work

PRIMER = Material(
    "primer", "Primer", "coating", "invented for a test", film_um=40.0, volume_solids_pct=50.0,
    transfer_efficiency_pct=50.0, voc_g_per_l=500.0,
    application=Application((15.0, 35.0), (15.0, 35.0), (0.0, 85.0), 3.0, "invented for a test"),
)  # fmt: skip

WASH = make_stage("wash", minutes=6, cautions=("lye",))
MASK = make_stage("mask", minutes=12, phase="restore", after=("wash",))
PROMOTE = make_stage(
    "promote", minutes=5, phase="restore", after=("mask",), labour="refinish", parameters={"coats": 1.0},
    instructions=("Apply {coats} coats.",), window=Window(("prime", "paint"), 10.0, 30.0, "promote"),
    wait=Wait(10.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0),
)  # fmt: skip
PRIME = make_stage(
    "prime", phase="paint", after=("promote",), labour="refinish", resource="booth", materials=("primer",),
    work=Work(4.0, 6.0, spread=0.2), wait=Wait(30.0), cautions=("solvent",),
    parameters={"coats": 2.0, "abrasive": "P320"}, from_substrate={"limit_c": "bake_limit_c"},
)  # fmt: skip
CAUTIONS = (make_caution("lye", "notice"), make_caution("solvent", "danger"), make_caution("dust"))
PACK = make_pack((WASH, MASK, PROMOTE, PRIME), (PRIMER,), CAUTIONS)
SUBSTRATE = make_substrate(bake_limit_c=80.0)
ALL = ("prime", "promote", "mask", "wash")


def planned(stages=ALL, terms=None, facts=None, pack=PACK, **decision):
    return plan(pack, SUBSTRATE, facts or facts_with(), make_decision(stages, **decision), terms or Terms())


PRIMED = StageWindow(
    "promote",
    10,
    30,
    "promote",
    sentence="Start 10 min to 30 min after the end of Promote, or go back to Promote.",
)


def stage_of(procedure, name):
    return next(stage for stage in procedure.stages if stage.stage == name)


def test_stages_stand_in_order_with_the_rules_behind_them():
    found = planned()
    assert [(stage.position, stage.stage) for stage in found.stages] == [
        (1, "wash"), (2, "mask"), (3, "promote"), (4, "prime"),
    ]  # fmt: skip
    assert stage_of(found, "mask").because == ("need-mask",)
    assert found.disposition is Disposition.REPAIR


def test_parameters_fill_coats_abrasive_instructions_and_work():
    found = planned(settings={("promote", "coats"): 3.0, ("absent", "coats"): 9.0})
    promote, prime = stage_of(found, "promote"), stage_of(found, "prime")
    assert promote.instructions == ("Apply 3 coats.",)
    assert promote.coats == 3
    assert promote.work_min.p50 == 15
    assert (prime.coats, prime.abrasive, prime.parameters["limit_c"]) == (2, "P320", 80)
    assert prime.work_min.p50 == 20


def test_window_stands_at_the_stage_that_must_start_in_it():
    assert stage_of(planned(), "prime").window == PRIMED
    assert stage_of(planned(), "prime").windows == (PRIMED,)


def test_cold_air_lengthens_the_wait_and_puts_the_window_off():
    cold = planned(facts=facts_with(air_temperature_c=16.0))
    promote, prime = stage_of(cold, "promote"), stage_of(cold, "prime")
    assert promote.wait_min == prime.window.not_before_min == 12.6
    assert cold.timeline.elapsed_min == pytest.approx(planned().timeline.elapsed_min + 2.6)


def test_figures_of_the_timeline_add_up():
    found = planned(terms=Terms(start_at=datetime(2027, 3, 2, 8, tzinfo=UTC)))
    starts = [stage.earliest_start_min for stage in found.timeline.stages]
    assert starts == [0, 6, 18, 33]
    assert found.timeline.elapsed_min == 83
    assert found.timeline.finish_at == datetime(2027, 3, 2, 9, 23, tzinfo=UTC)


def test_totals_are_labour_by_category_and_two_distributions():
    found = planned()
    assert found.totals.labour_hours == {"body": 0.3, "refinish": 0.5}
    assert found.totals.work_min.p50 == pytest.approx(43, abs=1)
    assert found.totals.elapsed_min.p50 == pytest.approx(83, abs=1)
    assert found.totals.elapsed_min.p95 < 40 + sum(stage.work_min.p95 for stage in found.stages)


def test_cautions_are_the_union_gravest_first_with_stages_and_rules():
    found = planned(cautions={"dust": ("sand-it",), "lye": ("ask-lye",)})
    told = [(asked.caution.id, asked.stages, asked.because) for asked in found.cautions]
    assert told == [
        ("solvent", ("prime",), ("need-prime",)),
        ("dust", (), ("sand-it",)),
        ("lye", ("wash",), ("ask-lye", "need-wash")),
    ]


def test_materials_emissions_and_cost_follow_from_the_stages():
    rates = Rates("USD", {"body": Decimal("60.00"), "refinish": Decimal("70.00")})
    found = planned(terms=Terms(rates=rates))
    assert [(need.material, need.quantity_ml) for need in found.materials] == [("primer", 320)]
    assert found.emissions.voc_total_g == 160
    assert found.cost.labour_total == Decimal("53.00")
    assert planned().cost is None


def test_place_is_told_where_something_is_coated():
    assert planned().place.stages == ("prime",)
    assert planned(["wash"]).place is None
    assert "Warm the part" in planned(facts=facts_with(surface_temperature_c=10.0)).place.warning


def test_a_referred_part_has_no_stages_and_takes_no_time():
    found = planned([], disposition=Disposition.REFER, cautions={"dust": ("ask",)})
    assert found.stages == found.materials == found.timeline.stages == ()
    assert found.totals.work_min == found.totals.elapsed_min == Quantiles(0, 0, 0)
    assert found.totals.labour_hours == {}
    assert found.timeline.elapsed_min == 0
    assert [asked.caution.id for asked in found.cautions] == ["dust"]


def test_windows_that_cannot_be_kept_are_refused_in_words():
    slow = replace(PROMOTE, wait=Wait(45.0))
    with pytest.raises(InconsistentWindows, match="start of prime at most 30 min after end of promote"):
        planned(pack=make_pack((WASH, MASK, slow, PRIME), (PRIMER,), CAUTIONS))


def test_the_same_decision_gives_the_same_procedure():
    assert planned() == planned(tuple(reversed(ALL)))


@settings(max_examples=40)
@given(acyclic_catalogues(size=6), st.data())
def test_every_stage_starts_as_soon_as_work_before_it_and_waits_that_hold_it_allow(stages, data):
    waits = {name: float(data.draw(st.integers(0, 60))) for name in stages}
    waiting = {name: replace(stage, wait=Wait(waits[name])) for name, stage in stages.items()}
    present = data.draw(st.sets(st.sampled_from(sorted(stages)), min_size=1))
    held_by = dependencies(stages, present)
    ready_min, free_min = {}, 0.0
    for stage in planned(present, pack=make_pack(waiting.values())).timeline.stages:
        start = max([free_min, *(ready_min[earlier] for earlier in held_by[stage.stage])])
        assert stage.earliest_start_min == start
        free_min = start + 10
        ready_min[stage.stage] = free_min + waits[stage.stage]


@settings(max_examples=25)
@given(acyclic_catalogues(size=5))
def test_totals_ascend_and_more_damage_takes_no_less_time(stages):
    longer = {name: replace(stage, work=Work(5, per_dm_min=10)) for name, stage in stages.items()}
    pack = make_pack(longer.values())
    one, two = (planned(stages, pack=pack, facts=facts_with(damage_count=count)) for count in (1.0, 2.0))
    for elapsed in (one.totals.elapsed_min, two.totals.elapsed_min):
        assert elapsed.p50 <= elapsed.p80 <= elapsed.p95
    assert one.totals.elapsed_min.p95 < two.totals.elapsed_min.p95
    assert one.timeline.elapsed_min < two.timeline.elapsed_min
