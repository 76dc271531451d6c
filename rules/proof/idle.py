"""Nothing in a pack is idle: rules that never fire or never matter, stages and cautions never seen."""

from __future__ import annotations

from collections.abc import Iterator

from rules.pack import Rule
from rules.proof.domain import Domain
from rules.proof.fault import Fault
from rules.proof.outcomes import Outcomes


def dead_rules(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Rules that fire in no cell."""
    for rule in outcomes.pack.rules.values():
        if not domain.count(outcomes.fired[rule.id]):
            told = f"no admissible facts make the rule '{rule.id}' fire; mend its condition, or delete it"
            yield Fault("R604", told, (rule.place,))


def swallowed_rules(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Rules that fire only where one other rule does, and say nothing that it does not say."""
    rules = outcomes.pack.rules.values()
    for rule in rules:
        fired = outcomes.fired[rule.id]
        for other in rules:
            if other is rule or not _says_all(other, rule):
                continue
            outside = fired & ~outcomes.fired[other.id]
            same_cells = fired == outcomes.fired[other.id]
            mutual = same_cells and _says_all(rule, other)
            if domain.count(fired) and not domain.count(outside) and (not mutual or other.id < rule.id):
                told = f"the rule '{rule.id}' adds nothing: wherever it fires, '{other.id}' says the same"
                yield Fault("R605", told + "; delete it, or widen it", (rule.place, other.place))
                break


def unseen_stages(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Stages that are present in no cell."""
    for stage in outcomes.pack.stages.values():
        if not domain.count(outcomes.present(stage.id)):
            told = f"no admissible facts lead to the stage '{stage.id}'; mend the rules that require it"
            yield Fault("R606", told, (stage.place,))


def unseen_cautions(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Cautions that are asked for in no cell."""
    for caution in outcomes.pack.cautions.values():
        if not domain.count(outcomes.warned(caution.id)):
            told = f"no admissible facts lead to the caution '{caution.id}'; mend what asks for it"
            yield Fault("R607", told, (caution.place,))


def _says_all(speaker: Rule, rule: Rule) -> bool:
    """Whether every effect of `rule` is an effect of `speaker` too."""
    return (
        rule.conclude.items() <= speaker.conclude.items()
        and set(rule.require) <= set(speaker.require)
        and rule.settings.items() <= speaker.settings.items()
        and set(rule.cautions) <= set(speaker.cautions)
        and rule.decide in (None, speaker.decide)
        and set(rule.overrides) <= set(speaker.overrides)
    )
