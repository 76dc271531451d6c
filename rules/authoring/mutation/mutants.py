"""The mutants of a pack: the pack with one small change in one of its rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from rules.authoring.mutation import conditions, effects
from rules.authoring.mutation.kinds import Kind
from rules.pack import Pack, Rule
from rules.places import Place


@dataclass(frozen=True)
class Mutant:
    """One change: `rule` takes the place of the rule with its id; `told` says what is different."""

    kind: Kind
    rule: Rule
    told: str
    place: Place

    def of(self, pack: Pack) -> Pack:
        """The pack with the change. Its layers still hold: a change never lets a rule read more."""
        return replace(pack, rules={**pack.rules, self.rule.id: self.rule})


def mutants_of(pack: Pack) -> tuple[Mutant, ...]:
    """Every mutant of the rules of the uppermost pack, none twice, in the order of the rules."""
    rules = (rule for rule in pack.rules.values() if rule.place.pack == pack.name)
    return tuple(mutant for rule in rules for mutant in _once_each(_mutants_of_rule(rule, pack)))


def _mutants_of_rule(rule: Rule, pack: Pack) -> Iterator[Mutant]:
    for kind, told, when, place in conditions.changes_of(rule.when, pack.vocabulary):
        yield Mutant(kind, replace(rule, when=when), told, place if place.line else rule.place)
    for kind, told, changed in effects.changes_of(rule, pack.vocabulary):
        yield Mutant(kind, changed, told, rule.place)


def _once_each(mutants: Iterator[Mutant]) -> Iterator[Mutant]:
    seen: list[Rule] = []
    for mutant in mutants:
        if mutant.rule not in seen:
            seen.append(mutant.rule)
            yield mutant
