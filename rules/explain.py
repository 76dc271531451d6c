"""Why a decision is what it is: the rules behind each part of it, and why the others did not fire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from rules.conditions import Condition, Value, facts_read
from rules.decision import Decision
from rules.pack import Pack, ParameterValue, Rule
from rules.places import Place
from rules.predicates import Facts, first_failure
from rules.proof.change import Change
from rules.wording import condition_in_words


@dataclass(frozen=True)
class RuleNote:
    """A rule as people need to see it: what it is for, on whose word, and where it is written."""

    rule: str
    why: str
    source: str
    place: Place


@dataclass(frozen=True)
class Asked:
    """A stage, caution or parameter and the rules that asked for it; `value` for a parameter."""

    name: str
    value: ParameterValue | None
    rules: tuple[RuleNote, ...]
    declared_at: Place


@dataclass(frozen=True)
class NotFired:
    """A rule that did not fire: the first condition that failed, in words, and the values it read.

    `change` is the smallest change of facts that fires it; None: there is none, or it was not asked for.
    """

    rule: RuleNote
    failed: str
    place: Place
    read: Mapping[str, Value]
    change: Change | None = None


@dataclass(frozen=True)
class Explanation:
    """What is behind one decision: everything, or the part in it of the one rule that was `asked` for.

    `facts` are all facts, given, from the substrate and derived.
    """

    facts: Mapping[str, Value]
    disposition: tuple[RuleNote, ...]
    derived: tuple[Asked, ...]
    stages: tuple[Asked, ...]
    settings: tuple[Asked, ...]
    cautions: tuple[Asked, ...]
    not_fired: tuple[NotFired, ...]
    asked: str | None = None


def explain(pack: Pack, facts: Facts, decision: Decision) -> Explanation:
    """Explain `decision`, which `pack` gave on the complete `facts`."""
    known = {**facts, **decision.derived}

    def noted(rule_ids: tuple[str, ...]) -> tuple[RuleNote, ...]:
        return tuple(note_of(pack.rules[rule_id]) for rule_id in rule_ids)

    return Explanation(
        facts=dict(sorted(known.items())),
        disposition=noted(tuple(reason.rule for reason in decision.reasons)),
        derived=tuple(
            Asked(fact, value, noted(_concluders(pack, decision, fact, value)), pack.vocabulary[fact].place)
            for fact, value in decision.derived.items()
        ),
        stages=tuple(
            Asked(stage, None, noted(rules), pack.stages[stage].place)
            for stage, rules in decision.stages.items()
        ),
        settings=tuple(
            Asked(f"{stage}.{parameter}", setting.value, noted(setting.rules), pack.stages[stage].place)
            for (stage, parameter), setting in decision.settings.items()
        ),
        cautions=tuple(
            Asked(name, None, noted(rules), pack.cautions[name].place)
            for name, rules in decision.cautions.items()
        ),
        not_fired=tuple(
            why_not(rule, known)
            for rule_id, rule in sorted(pack.rules.items())
            if rule_id not in decision.fired
        ),
    )


def part_of(rule_id: str, explanation: Explanation, change: Change | None) -> Explanation:
    """What one rule did, or why it did nothing and what change of facts would fire it."""

    def asked(entries: tuple[Asked, ...]) -> tuple[Asked, ...]:
        return tuple(entry for entry in entries if any(note.rule == rule_id for note in entry.rules))

    return replace(
        explanation,
        disposition=tuple(note for note in explanation.disposition if note.rule == rule_id),
        derived=asked(explanation.derived),
        stages=asked(explanation.stages),
        settings=asked(explanation.settings),
        cautions=asked(explanation.cautions),
        not_fired=tuple(
            replace(entry, change=change) for entry in explanation.not_fired if entry.rule.rule == rule_id
        ),
        asked=rule_id,
    )


def note_of(rule: Rule) -> RuleNote:
    """The rule as people need to see it."""
    return RuleNote(rule.id, rule.why, rule.source, rule.place)


def why_not(rule: Rule, facts: Facts) -> NotFired:
    """The first failing condition of a rule that does not hold. Raises ValueError when it holds."""
    failed = first_failure(rule.when, facts)
    if failed is None:
        raise ValueError(f"rule '{rule.id}' holds for these facts")
    read = {fact: facts[fact] for fact in sorted(facts_read(failed))}
    return NotFired(note_of(rule), condition_in_words(failed), _place_of(failed, rule), read)


def _place_of(failed: Condition, rule: Rule) -> Place:
    return failed.place if failed.place.line else rule.place


def _concluders(pack: Pack, decision: Decision, fact: str, value: Value) -> tuple[str, ...]:
    """The fired rules that conclude the value the fact ended with; none where it is the default."""
    return tuple(rule for rule in decision.fired if pack.rules[rule].conclude.get(fact) == value)
