"""Cautions that a jurisdiction adds, who asks for them, and which stages carry them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from planning_examples import facts_with, make_caution, make_decision, make_stage, make_substrate
from voc_examples import category, coating, jurisdiction, pack_of

from planning.model import Terms
from planning.procedure import plan
from rules.jurisdictions import CoatingRole

COLOR = CoatingRole.COLOR_COAT
OUTER = jurisdiction("outer", category("colours", 600, COLOR), adds={"mist": ("booth", "records")})
INNER = jurisdiction(
    "inner",
    category("colours", 420, COLOR),
    adds={"mist": ("booth",)},
    within="outer",
    over_limit=("too-much",),
)
COATING = {"film_um": 10.0, "volume_solids_pct": 20.0, "transfer_efficiency_pct": 50.0}
RICH = coating("rich", COLOR, voc_g_per_l=500.0, **COATING)
STAGES = (make_stage("wash"), make_stage("paint", cautions=("mist",), materials=("rich",)))
CAUTIONS = [make_caution(name) for name in ("mist", "booth", "records", "too-much", "over")]


def asked(place, cautions=None, stages=STAGES):
    pack = replace(
        pack_of((RICH,), OUTER, INNER, cautions=CAUTIONS), stages={stage.id: stage for stage in stages}
    )
    decision = make_decision([stage.id for stage in stages], cautions=cautions)
    return plan(pack, make_substrate(), facts_with(), decision, Terms(jurisdiction=place))


def told(procedure):
    return {each.caution.id: (each.stages, each.because) for each in procedure.cautions}


def carried(procedure):
    return {stage.stage: stage.cautions for stage in procedure.stages}


def test_without_a_jurisdiction_nothing_is_added():
    assert carried(asked(None)) == {"wash": (), "paint": ("mist",)}
    assert told(asked(None)).keys() == {"mist"}


def test_a_caution_brings_along_what_the_jurisdiction_sets_beside_it():
    found = asked("outer")
    assert carried(found) == {"wash": (), "paint": ("mist", "booth", "records")}
    assert told(found)["records"] == (("paint",), ("jurisdiction outer", "need-paint"))
    assert told(found)["mist"] == (("paint",), ("need-paint",))


def test_what_lies_within_another_has_its_cautions_too():
    found = told(asked("inner"))
    assert found["booth"][1] == ("jurisdiction inner", "jurisdiction outer", "need-paint")
    assert found["records"][1] == ("jurisdiction outer", "need-paint")


def test_a_coating_over_the_limit_is_warned_of_on_its_stage_by_whose_limit_it_is():
    found = asked("inner")
    assert found.emissions.mixes[0].mix.held.jurisdiction == "inner"
    assert carried(found)["paint"] == ("mist", "booth", "records", "too-much")
    assert told(found)["too-much"] == (("paint",), ("jurisdiction inner", "need-paint"))
    assert "over" not in told(found)
    assert told(asked("outer")).keys() == {"mist", "booth", "records"}


def test_a_caution_of_the_whole_job_brings_the_others_along_for_the_whole_job():
    bare = (make_stage("wash"),)
    found = asked("outer", cautions={"mist": ("a-rule",)}, stages=bare)
    assert told(found) == {
        "mist": ((), ("a-rule",)),
        "booth": ((), ("jurisdiction outer",)),
        "records": ((), ("jurisdiction outer",)),
    }


def test_a_stage_that_carries_it_already_carries_it_once():
    stages = (make_stage("paint", cautions=("booth", "mist"), materials=("rich",)),)
    found = asked("outer", stages=stages)
    assert carried(found)["paint"] == ("booth", "mist", "records")
    assert told(found)["booth"][1] == ("jurisdiction outer", "need-paint")


def test_the_job_tells_what_it_sets_free():
    # 1 m² x 10 µm at 20 % solids and 50 % transfer is 100 ml of 500 g/L.
    assert asked("outer").emissions.voc_total_g == Decimal("50.0")
