"""Every cell has one disposition, no two rules disagree, and a part that is referred has no stages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rules.pack import Disposition
from rules.places import Place
from rules.proof.domain import Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import DISPOSITION, Clash, Outcomes, Subject
from rules.proof.space import union


def gaps(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Cells in which no rule decides."""
    where = outcomes.unclaimed(DISPOSITION)
    if domain.any(where):
        told = "no rule decides a disposition; add a rule, or widen the condition of one"
        yield fault_in(domain, where, "R601", told, Place("pack.yaml", 1, 1, outcomes.pack.name))


def disagreements(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Cells in which two rules say different things of one subject."""
    for clash in outcomes.clashes():
        yield fault_in(domain, clash.where, "R602", _told(outcomes, clash), *_places(outcomes, clash.rules))
    for subject, where in outcomes.silenced():
        told = f"every rule that speaks of {_named(subject)} gives way to another; take an 'overrides' away"
        yield fault_in(domain, where, "R602", told, *_places(outcomes, outcomes.speakers(subject)))


def referred_with_stages(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Rules that require a stage where the part is referred, and nothing else is said of it."""
    others = (outcomes.claimed(DISPOSITION, each) for each in Disposition if each is not Disposition.REFER)
    referred = outcomes.claimed(DISPOSITION, Disposition.REFER) & ~union(domain, others)
    for rule in outcomes.pack.rules.values():
        where = outcomes.fired[rule.id] & referred
        if rule.require and domain.any(where):
            told = (
                f"the rule '{rule.id}' requires {', '.join(rule.require)} for a part that is referred; "
                "keep it from firing there"
            )
            yield fault_in(domain, where, "R603", told, rule.place)


def _told(outcomes: Outcomes, clash: Clash) -> str:
    left, right = (outcomes.claim(clash.subject, rule) for rule in clash.rules)
    return (
        f"the rules '{clash.rules[0]}' and '{clash.rules[1]}' say {left} and {right} of "
        f"{_named(clash.subject)}; tell their conditions apart, or let one override the other"
    )


def _named(subject: Subject) -> str:
    return "the disposition" if subject == DISPOSITION else f"{subject[0]} '{'.'.join(subject[1:])}'"


def _places(outcomes: Outcomes, rules: Iterable[str]) -> tuple[Place, ...]:
    return tuple(outcomes.pack.rules[rule].place for rule in rules)
