"""The whole proof of a pack: every obligation in turn, over every admissible cell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from rules.assertions.model import Assertion
from rules.conditions import facts_read
from rules.pack import Pack
from rules.proof.assertions import broken_assertions
from rules.proof.dispositions import disagreements, gaps, referred_with_stages
from rules.proof.domain import Domain, domain_of
from rules.proof.fault import Fault
from rules.proof.idle import dead_rules, swallowed_rules, unseen_cautions, unseen_stages
from rules.proof.outcomes import Outcomes, outcomes_of
from rules.proof.unknown import careless_unknown
from rules.proof.windows import WhyNotKept, unkept_windows


@dataclass(frozen=True)
class Proof:
    """What was held against how many cells, and what was found; no fault means proven."""

    digest: str
    cells: int
    rules: int
    assertions: int
    faults: tuple[Fault, ...]


def prove(
    pack: Pack,
    assertions: Sequence[Assertion],
    why_not_kept: WhyNotKept,
    told: Callable[[str], object] = lambda obligation: None,
) -> Proof:
    """Prove `pack` over its whole domain; `told` is called with each obligation before it is tried.

    `assertions` are those of the whole stack of packs.
    """
    told("meaning of every rule")
    held = [each for each in assertions if each.stands_under_overlays or each.place.pack == pack.name]
    domain = domain_of(pack, {fact for each in held for fact in facts_read(each.when)})
    outcomes = outcomes_of(pack, domain)
    faults: list[Fault] = []
    for obligation, found in _obligations(outcomes, domain, held, why_not_kept):
        told(obligation)
        faults += found()
    return Proof(pack.digest, domain.count(domain.admissible), len(pack.rules), len(held), tuple(faults))


def _obligations(
    outcomes: Outcomes, domain: Domain, assertions: Sequence[Assertion], why_not_kept: WhyNotKept
) -> Iterator[tuple[str, Callable[[], Iterator[Fault]]]]:
    yield "one disposition everywhere", lambda: gaps(outcomes, domain)
    yield "no two rules disagree", lambda: disagreements(outcomes, domain)
    yield "a referred part has no stages", lambda: referred_with_stages(outcomes, domain)
    yield "every rule can fire", lambda: dead_rules(outcomes, domain)
    yield "no rule is swallowed by another", lambda: swallowed_rules(outcomes, domain)
    yield "every stage is used", lambda: unseen_stages(outcomes, domain)
    yield "every caution is used", lambda: unseen_cautions(outcomes, domain)
    yield "an unknown material is treated with care", lambda: careless_unknown(outcomes, domain)
    yield "every window can be kept", lambda: unkept_windows(outcomes, domain, why_not_kept)
    yield "every assertion holds", lambda: broken_assertions(outcomes, domain, assertions)
