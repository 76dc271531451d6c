"""Assertions of a pack, held against every admissible cell that gets an answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rules.assertions.model import Assertion
from rules.proof.domain import Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import Outcomes
from rules.proof.patterns import Patterns
from rules.proof.space import where_holds


def broken_assertions(outcomes: Outcomes, domain: Domain, assertions: Iterable[Assertion]) -> Iterator[Fault]:
    """Assertions that some cell breaks, and those of the uppermost pack that speak of no cell."""
    patterns = Patterns(outcomes, domain)
    for each in assertions:
        spoken_of = where_holds(domain, each.when, outcomes.holds) & patterns.match(each.where)
        nothing = next(patterns.speaking_of_nothing(each, spoken_of), None)
        if nothing and each.place.pack == outcomes.pack.name:
            told = f"the assertion '{each.id}' speaks of no case {nothing}; mend its 'when' or 'where'"
            yield Fault("R611", told, (each.place,))
        for broken, how in patterns.broken(each):
            where = spoken_of & broken & outcomes.answered
            if domain.any(where):
                told = f"the assertion '{each.id}' fails, because {how}: {each.why}"
                mend = "; mend the rules for the facts of the example, or the assertion"
                yield fault_in(domain, where, "R609", told.rstrip(".") + mend, each.place)
                break
