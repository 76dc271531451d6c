"""Every fault has a witness that shows it, and where the proof finds none there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
import strategies
import whole_packs
from hypothesis import HealthCheck, given, settings

from rules.conditions import Value
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines.reference import ReferenceEngine
from rules.pack import Pack
from rules.proof.fault import Fault
from rules.proof.proving import Proof, prove

few = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
WITHOUT_CELLS = {"R604", "R605", "R606", "R607"}


def proof_of(pack: Pack) -> Proof:
    return prove(pack, (), lambda span, settings: None)


@few
@given(whole_packs.whole_packs())
def test_a_witness_shows_its_fault(pack: Pack) -> None:
    for fault in proof_of(pack).faults:
        if fault.witness is None:
            assert fault.code in WITHOUT_CELLS
            continue
        facts = whole_packs.completed(pack, fault.witness.material, fault.witness.facts)
        if fault.code == "R610":
            assert lacks_a_caution(pack, fault, facts)
            continue
        assert fault.code in {"R601", "R602", "R603"}
        with pytest.raises(PackFault):
            Decider(pack, ReferenceEngine(pack)).decide(facts)


@few
@given(whole_packs.whole_packs())
def test_a_pack_is_at_fault_in_some_cell_exactly_where_the_proof_says_so(pack: Pack) -> None:
    decided = [whole_packs.decided(pack, facts) for _, facts in whole_packs.every_cell(pack)]
    found = {fault.code for fault in proof_of(pack).faults}
    assert (None in decided) == bool(found & {"R601", "R602", "R603"})


@few
@given(whole_packs.whole_packs())
def test_what_the_proof_calls_idle_is_never_seen(pack: Pack) -> None:
    decided = [whole_packs.decided(pack, facts) for _, facts in whole_packs.every_cell(pack)]
    told = {
        fault.message.split("'")[1]
        for fault in proof_of(pack).faults
        if fault.code in WITHOUT_CELLS - {"R605"}
    }
    for decision in filter(None, decided):
        assert told.isdisjoint(decision.fired)
        assert told.isdisjoint(decision.stages)
        assert told.isdisjoint(decision.cautions)


@few
@given(whole_packs.whole_packs())
def test_without_a_swallowed_rule_every_answer_is_the_same(pack: Pack) -> None:
    swallowed = {fault.message.split("'")[1] for fault in proof_of(pack).faults if fault.code == "R605"}
    for name in swallowed:
        rest = {rule_id: rule for rule_id, rule in pack.rules.items() if rule_id != name}
        less = replace(strategies.pack_of([*pack.vocabulary], [*rest.values()]), stages=pack.stages)
        for _, facts in whole_packs.every_cell(pack):
            whole = whole_packs.decided(pack, facts)
            assert whole is None or seen(whole) == seen(whole_packs.decided(less, facts))


def seen(decision: Decision | None) -> object:
    """What people see of a decision; not which rules said it."""
    assert decision is not None
    settings = {key: setting.value for key, setting in decision.settings.items()}
    return decision.disposition, set(decision.stages), settings, set(decision.cautions), decision.derived


def lacks_a_caution(pack: Pack, fault: Fault, facts: Mapping[str, Value]) -> bool:
    """Whether some known material asks for no more stages, and for the caution that `facts` lack."""
    name = fault.message.split("'")[1]
    unknown = whole_packs.decided(pack, facts)
    known = [
        whole_packs.decided(pack, {**facts, **substrate.properties})
        for substrate in pack.substrates.values()
        if substrate.symbol != "unknown"
    ]
    assert unknown is not None
    assert name not in cautions_of(pack, unknown)
    return any(
        decision is not None
        and set(decision.stages) <= set(unknown.stages)
        and name in cautions_of(pack, decision)
        for decision in known
    )


def cautions_of(pack: Pack, decision: Decision) -> set[str]:
    return {*decision.cautions, *(name for stage in decision.stages for name in pack.stages[stage].cautions)}
