"""A pack with some of its facts under other names, so that two packs can stand side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rules.conditions import All, Any, Condition
from rules.pack import Pack, Rule, Substrate
from rules.vocabulary import Fact, Vocabulary

Names = Mapping[str, str]
"""Old name of a fact -> new name; facts that are not in it keep theirs."""


def renamed(pack: Pack, names: Names) -> Pack:
    """`pack` with facts renamed wherever it mentions them; it means the same."""
    facts = (_fact(fact, names) for fact in pack.vocabulary)
    return replace(
        pack,
        vocabulary=Vocabulary({fact.name: fact for fact in facts}),
        rules={rule.id: _rule(rule, names) for rule in pack.rules.values()},
        substrates={row.symbol: _substrate(row, names) for row in pack.substrates.values()},
        stages={
            stage.id: replace(
                stage,
                from_substrate={key: names.get(fact, fact) for key, fact in stage.from_substrate.items()},
            )
            for stage in pack.stages.values()
        },
    )


def _fact(fact: Fact, names: Names) -> Fact:
    condition = fact.applies_when and _condition(fact.applies_when, names)
    return replace(fact, name=names.get(fact.name, fact.name), applies_when=condition)


def _rule(rule: Rule, names: Names) -> Rule:
    conclude = {names.get(fact, fact): value for fact, value in rule.conclude.items()}
    return replace(rule, when=_condition(rule.when, names), conclude=conclude)


def _substrate(row: Substrate, names: Names) -> Substrate:
    return replace(row, properties={names.get(fact, fact): value for fact, value in row.properties.items()})


def _condition(condition: Condition, names: Names) -> Condition:
    if isinstance(condition, (All, Any)):
        return replace(condition, parts=tuple(_condition(part, names) for part in condition.parts))
    return replace(condition, fact=names.get(condition.fact, condition.fact))
