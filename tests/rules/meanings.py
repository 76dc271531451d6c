"""A reference decision held against what sets of cells say of its cell."""

from __future__ import annotations

from collections.abc import Mapping

from rules.conditions import OneOf, Value
from rules.decision import Decision
from rules.proof.domain import SUBSTRATE, Domain
from rules.proof.outcomes import DISPOSITION, Outcomes
from rules.proof.space import CellSet
from rules.vocabulary import Kind, Origin


def cell_of(domain: Domain, material: str, facts: Mapping[str, Value]) -> CellSet:
    row = next((cell for cell, row in enumerate(domain.rows) if material in row.symbols), 0)
    cells = {name: fact.cell_of(facts[name]) for name, fact in domain.facts.items()}
    return domain.diagrams.point({SUBSTRATE: row, **cells})


def assert_same(outcomes: Outcomes, cell: CellSet, decision: Decision | None) -> None:
    """Whether there is an answer; fired rules, derived facts, stages, settings, cautions, disposition."""
    space, pack = outcomes.space, outcomes.pack
    assert space.any(cell & outcomes.answered) == (decision is not None)
    if decision is None:
        return
    assert {rule for rule, where in outcomes.fired.items() if space.any(where & cell)} == set(decision.fired)
    for fact in pack.vocabulary.from_origin(Origin.RULES):
        if fact.kind is not Kind.NUMBER:  # numbers are seen in what the rules that read them do
            assert space.any(cell & outcomes.holds(OneOf(fact.name, (decision.derived[fact.name],))))
    for stage in {name for rule in pack.rules.values() for name in rule.require}:
        assert space.any(cell & outcomes.present(stage)) == (stage in decision.stages)
    for key in {key for rule in pack.rules.values() for key in rule.settings}:
        subject = ("parameter", *key)
        setting = decision.settings.get(key)
        expected = (
            outcomes.unclaimed(subject) if setting is None else outcomes.claimed(subject, setting.value)
        )
        assert space.any(cell & expected)
    carried = {name for stage in decision.stages for name in getattr(pack.stages.get(stage), "cautions", ())}
    for caution in pack.cautions:
        assert space.any(cell & outcomes.warned(caution)) == (caution in {*decision.cautions, *carried})
    assert space.any(cell & outcomes.claimed(DISPOSITION, decision.disposition))
