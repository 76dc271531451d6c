"""Nothing in a pack is idle: rules that never fire or never matter, stages and cautions never seen.

Only things of the uppermost pack are looked at: what an overlay leaves idle of the pack below is
nobody's fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from rules.pack import Caution, Pack, Rule, Stage
from rules.proof.domain import Domain
from rules.proof.fault import Fault
from rules.proof.outcomes import Outcomes

Thing = TypeVar("Thing", Rule, Stage, Caution)


def dead_rules(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Rules that fire in no cell."""
    for rule in _own(outcomes.pack, outcomes.pack.rules.values()):
        if not domain.any(outcomes.fired[rule.id]):
            told = f"no admissible facts make the rule '{rule.id}' fire; mend its condition, or delete it"
            yield Fault("R604", told, (rule.place,))


def swallowed_rules(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Rules that fire only where one other rule does, and say nothing that it does not say."""
    for rule in _own(outcomes.pack, outcomes.pack.rules.values()):
        others = (other for other in outcomes.pack.rules.values() if _swallows(outcomes, other, rule))
        swallower = next(others, None)
        if swallower and domain.any(outcomes.fired[rule.id]):
            told = f"the rule '{rule.id}' adds nothing: wherever it fires, '{swallower.id}' says the same"
            yield Fault("R605", told + "; delete it, or widen it", (rule.place, swallower.place))


def unseen_stages(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Stages that are present in no cell."""
    for stage in _own(outcomes.pack, outcomes.pack.stages.values()):
        if not domain.any(outcomes.present(stage.id)):
            told = f"no admissible facts lead to the stage '{stage.id}'; mend the rules that require it"
            yield Fault("R606", told, (stage.place,))


def unseen_cautions(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Cautions of rules and stages that are asked for in no cell; those of bench tests need neither."""
    named = {name for rule in outcomes.pack.rules.values() for name in rule.cautions}
    named |= {name for stage in outcomes.pack.stages.values() for name in stage.cautions}
    for caution in _own(outcomes.pack, outcomes.pack.cautions.values()):
        if caution.id in named and not domain.any(outcomes.warned(caution.id)):
            told = f"no admissible facts lead to the caution '{caution.id}'; mend what asks for it"
            yield Fault("R607", told, (caution.place,))


def _own(pack: Pack, things: Iterable[Thing]) -> Iterator[Thing]:
    return (thing for thing in things if thing.place.pack == pack.name)


def _swallows(outcomes: Outcomes, other: Rule, rule: Rule) -> bool:
    """Whether `other` does all that `rule` does; of two that do the same, the first by id."""
    if other is rule or not _says_all(other, rule):
        return False
    fired, wider = outcomes.fired[rule.id], outcomes.fired[other.id]
    if fired == wider and _says_all(rule, other):
        return other.id < rule.id
    return bool(fired & wider == fired)


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
