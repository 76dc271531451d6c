"""Rules that say nothing, and rules that always contradict each other."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from itertools import islice

from rules.conditions import All, Any, Condition, OneOf, Within
from rules.findings import Finding
from rules.pack import Pack, Rule
from rules.wording import value_in_words


def conflicts(pack: Pack) -> Iterator[Finding]:
    """Rules without effect, and rules of one condition that set one thing differently.

    Rules of different conditions that can both hold are for the proof over all facts.
    """
    said: dict[Hashable, dict[str, list[Rule]]] = {}
    for rule in pack.rules.values():
        if not (rule.conclude or rule.require or rule.settings or rule.cautions or rule.decide):
            told = f"the rule '{rule.id}' has no effect; add 'require', 'set' or another, or delete it"
            yield Finding("R216", rule.place, told)
        when = _meaning(rule.when)
        for what, value in _claims(rule).items():
            by_value = said.setdefault((when, what), {})
            yield from islice(_contradictions(rule, what, value, by_value), 1)
            by_value.setdefault(value, []).append(rule)


def _contradictions(
    rule: Rule, what: str, value: str, by_value: Mapping[str, list[Rule]]
) -> Iterator[Finding]:
    others = [(other, said) for said, rules in by_value.items() if said != value for other in rules]
    for other, other_value in others:
        if rule.id not in other.overrides and other.id not in rule.overrides:
            told = (
                f"'{rule.id}' says of {what} {value}, but '{other.id}' at {other.place}, under the same "
                f"'when', says {other_value}; let one of them override the other"
            )
            yield Finding("R215", rule.place, told)


def _claims(rule: Rule) -> dict[str, str]:
    claims = {fact: value_in_words(value) for fact, value in rule.conclude.items()}
    for (stage, parameter), value in rule.settings.items():
        claims[f"{stage}.{parameter}"] = value_in_words(value)
    if rule.decide:
        claims["the disposition"] = rule.decide.disposition.value
    return claims


def _meaning(condition: Condition) -> Hashable:
    """Equal for conditions that differ only in the order in which they are written."""
    match condition:
        case All(parts):
            return "all", frozenset(_meaning(part) for part in parts)
        case Any(parts):
            return "any", frozenset(_meaning(part) for part in parts)
        case OneOf(fact, values, negated):
            return fact, frozenset(values), negated
        case Within(fact, at_least, below, negated):
            return fact, at_least, below, negated
