"""Rules with one effect dropped, or with another value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from rules.authoring.mutation.kinds import Kind
from rules.conditions import Value
from rules.loading.grades import P_GRADES
from rules.pack import Disposition, ParameterValue, Rule
from rules.vocabulary import Fact, Vocabulary
from rules.vocabulary import Kind as FactKind
from rules.wording import value_in_words

K = TypeVar("K")
V = TypeVar("V")

Change = tuple[Kind, str, Rule]


def changes_of(rule: Rule, vocabulary: Vocabulary) -> Iterator[Change]:
    """Every rule that differs from `rule` in one effect."""
    yield from _dropped(rule)
    for fact, value in rule.conclude.items():
        other = _other_value(vocabulary[fact], value)
        told = f"concludes {fact} {value_in_words(other)} for {value_in_words(value)}"
        yield Kind.CHANGE_EFFECT, told, replace(rule, conclude={**rule.conclude, fact: other})
    for (stage, parameter), setting in rule.settings.items():
        another = _other_setting(parameter, setting)
        told = f"sets {stage}.{parameter} {value_in_words(another)} for {value_in_words(setting)}"
        settings = {**rule.settings, (stage, parameter): another}
        yield Kind.CHANGE_EFFECT, told, replace(rule, settings=settings)
    if rule.decide:
        for disposition in Disposition:
            if disposition is not rule.decide.disposition:
                told = f"decides {disposition.value} for {rule.decide.disposition.value}"
                decide = replace(rule.decide, disposition=disposition)
                yield Kind.CHANGE_EFFECT, told, replace(rule, decide=decide)


def _dropped(rule: Rule) -> Iterator[Change]:
    def without(told: str, **members: object) -> Change:
        return Kind.DROP_EFFECT, told, replace(rule, **members)  # type: ignore[arg-type]

    for fact in rule.conclude:
        yield without(f"does not conclude {fact}", conclude=_without(rule.conclude, fact))
    for stage in rule.require:
        yield without(f"does not require {stage}", require=tuple(x for x in rule.require if x != stage))
    for key in rule.settings:
        yield without(f"does not set {'.'.join(key)}", settings=_without(rule.settings, key))
    for caution in rule.cautions:
        kept = tuple(each for each in rule.cautions if each != caution)
        yield without(f"does not carry the caution {caution}", cautions=kept)
    if rule.decide:
        yield without(f"does not decide {rule.decide.disposition.value}", decide=None)
    for other in rule.overrides:
        kept = tuple(each for each in rule.overrides if each != other)
        yield without(f"does not override {other}", overrides=kept)


def _without(members: Mapping[K, V], name: K) -> dict[K, V]:
    return {key: value for key, value in members.items() if key != name}


def _other_value(fact: Fact, value: Value) -> Value:
    """A value in the next cell; of a truth value, the other one."""
    if fact.kind is FactKind.BOOLEAN:
        return not value
    return fact.domain[(fact.cell_of(value) + 1) % len(fact.domain)]


def _other_setting(parameter: str, value: ParameterValue) -> ParameterValue:
    """The truth value that it is not, the next finer grade, one less (or more), or another text."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, str):
        if parameter == "abrasive":
            return P_GRADES[(P_GRADES.index(value) + 1) % len(P_GRADES)]
        return f"other than {value}"
    return value - 1 if value > 1 else value + 1
