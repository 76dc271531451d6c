"""The whole-domain proof and the bit vectors mean what the reference means."""

from __future__ import annotations

from collections.abc import Mapping

import strategies
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rules.conditions import OneOf, Value
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines.reference import ReferenceEngine
from rules.pack import Disposition, Pack
from rules.proof.domain import SUBSTRATE, Domain, domain_of
from rules.proof.outcomes import DISPOSITION, Outcomes, outcomes_of
from rules.proof.sample import sample_of
from rules.proof.space import CellSet
from rules.vocabulary import Kind, Origin

few = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def decided(pack: Pack, facts: Mapping[str, Value]) -> Decision | None:
    """The reference decision, None for a fault of the pack."""
    try:
        return Decider(pack, ReferenceEngine(pack)).decide(facts)
    except PackFault:
        return None


def cell_of(domain: Domain, facts: Mapping[str, Value]) -> CellSet:
    cells = {name: fact.cell_of(facts[name]) for name, fact in domain.facts.items()}
    return domain.diagrams.point({SUBSTRATE: 0, **cells})


def faulty(outcomes: Outcomes, cell: CellSet) -> bool:
    """Whether the proof finds a fault in this cell."""
    space = outcomes.space
    referred = outcomes.claimed(DISPOSITION, Disposition.REFER)
    with_stages = [
        outcomes.fired[rule.id] & referred for rule in outcomes.pack.rules.values() if rule.require
    ]
    faults = [clash.where for clash in outcomes.clashes()]
    faults += [where for _, where in outcomes.silenced()]
    return any(
        space.count(cell & fault) for fault in [*faults, *with_stages, outcomes.unclaimed(DISPOSITION)]
    )


def assert_same(outcomes: Outcomes, cell: CellSet, decision: Decision) -> None:
    """Fired rules, derived facts, settings and the disposition of one cell."""
    space = outcomes.space
    assert {rule for rule, where in outcomes.fired.items() if space.count(where & cell)} == set(
        decision.fired
    )
    for fact in outcomes.pack.vocabulary.from_origin(Origin.RULES):
        assert fact.kind is not Kind.NUMBER
        assert space.count(cell & outcomes.holds(OneOf(fact.name, (decision.derived[fact.name],))))
    for key in {key for rule in outcomes.pack.rules.values() for key in rule.settings}:
        subject = ("parameter", *key)
        setting = decision.settings.get(key)
        expected = (
            outcomes.unclaimed(subject) if setting is None else outcomes.claimed(subject, setting.value)
        )
        assert space.count(cell & expected)
    assert space.count(cell & outcomes.claimed(DISPOSITION, decision.disposition))


@few
@given(st.data())
def test_the_whole_domain_agrees_with_the_reference_in_any_cell(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    domain = domain_of(pack)
    outcomes = outcomes_of(pack, domain)
    for facts in data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=6)):
        decision, cell = decided(pack, facts), cell_of(domain, facts)
        assert faulty(outcomes, cell) == (decision is None)
        if decision is not None:
            assert_same(outcomes, cell, decision)


@few
@given(st.data())
def test_bit_vectors_agree_with_the_reference_cell_by_cell(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    listed = data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=20))
    sample = sample_of(pack, listed)
    outcomes = outcomes_of(pack, sample)
    for number, facts in enumerate(listed):
        decision, cell = decided(pack, facts), sample.only(number)
        assert faulty(outcomes, cell) == (decision is None)
        if decision is not None:
            assert_same(outcomes, cell, decision)


@few
@given(st.data())
def test_the_domain_counts_every_combination_of_cells_once(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    domain = domain_of(pack)
    expected = 1
    for fact in domain.facts.values():
        expected *= len(fact.domain)
    assert domain.count(domain.admissible) == expected
    for rule, where in outcomes_of(pack, domain).fired.items():
        assert domain.count(where) + domain.count(domain.admissible & ~where) == expected, rule
