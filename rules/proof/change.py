"""The smallest change of facts that makes a rule fire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

from rules.conditions import Value
from rules.pack import Substrate
from rules.proof.domain import SUBSTRATE, Domain
from rules.proof.outcomes import Outcomes


@dataclass(frozen=True)
class Change:
    """New values by fact; `material` is another material, or None where it stays."""

    facts: Mapping[str, Value]
    material: str | None


def smallest_change(
    outcomes: Outcomes, domain: Domain, rule_id: str, substrate: Substrate, facts: Mapping[str, Value]
) -> Change | None:
    """The fewest facts to change so that a rule fires; `facts` are complete. None for a dead rule.

    Of several smallest changes, the first in the order in which the facts are declared. A change that
    makes another fact inapplicable, or applicable, carries the new value of that fact too.
    """
    diagrams, fired = domain.diagrams, outcomes.fired[rule_id]
    if fired == diagrams.false:
        return None
    here = _cells(domain, substrate, facts)
    movable = diagrams.support(fired)
    for size in range(len(movable) + 1):
        for moved in combinations(movable, size):
            kept = {name: cell for name, cell in here.items() if name not in moved}
            reached = fired & diagrams.point(kept)
            if reached != diagrams.false:
                return _change(domain, here, diagrams.nearest(reached, here))
    raise AssertionError("every variable was free to move")


def _cells(domain: Domain, substrate: Substrate, facts: Mapping[str, Value]) -> dict[str, int]:
    row = next(cell for cell, row in enumerate(domain.rows) if substrate.symbol in row.symbols)
    return {SUBSTRATE: row} | {name: fact.cell_of(facts[name]) for name, fact in domain.facts.items()}


def _change(domain: Domain, here: Mapping[str, int], there: Mapping[str, int]) -> Change:
    moved = [name for name in here if here[name] != there[name]]
    return Change(
        facts={name: domain.facts[name].domain[there[name]] for name in moved if name != SUBSTRATE},
        material=domain.rows[there[SUBSTRATE]].symbols[0] if SUBSTRATE in moved else None,
    )
