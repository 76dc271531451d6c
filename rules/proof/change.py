"""The smallest change of facts that makes a rule fire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from threading import Lock

from rules.conditions import Value
from rules.pack import Pack, Substrate
from rules.proof.diagrams import Diagram
from rules.proof.domain import SUBSTRATE, Domain, domain_of
from rules.proof.outcomes import Outcomes, outcomes_of
from rules.proof.space import where_holds
from rules.proof.witness import applies, value_in


@dataclass(frozen=True)
class Change:
    """New values by fact, None for one that no longer applies; `material` is another one, or None.

    A fact that applies only now is among them, with the value that it then needs.
    """

    facts: Mapping[str, Value | None]
    material: str | None = None


class Changes:
    """Finds the smallest changes under one pack, for any thread. Its diagrams are drawn when first needed."""

    def __init__(self, pack: Pack) -> None:
        self._pack = pack
        self._lock = Lock()
        self._drawn: tuple[Domain, Outcomes] | None = None

    def smallest(self, rule_id: str, substrate: Substrate, facts: Mapping[str, Value]) -> Change | None:
        """The fewest facts to state otherwise so that a rule fires; None for one that fires nowhere.

        `facts` are complete. A fact that no longer applies is left out and does not count; nor does one
        that applies only then, at its default. Of several smallest changes, the one in facts that are
        declared late; the material stays if it can.
        """
        with self._lock:
            if self._drawn is None:
                domain = domain_of(self._pack)
                self._drawn = domain, outcomes_of(self._pack, domain)
            domain, outcomes = self._drawn
            fired = outcomes.fired[rule_id] & outcomes.answered
            if not domain.any(fired):
                return None
            here = _cells(domain, substrate, facts)
            unsaid = here | _assumed(domain, facts)
            there = domain.diagrams.nearest(fired, unsaid, _costless(domain, unsaid, facts))
            return _change(domain, facts, here, there)


def _cells(domain: Domain, substrate: Substrate, facts: Mapping[str, Value]) -> dict[str, int]:
    row = next(cell for cell, row in enumerate(domain.rows) if substrate.symbol in row.symbols)
    return {SUBSTRATE: row} | {name: fact.cell_of(facts[name]) for name, fact in domain.facts.items()}


def _assumed(domain: Domain, facts: Mapping[str, Value]) -> dict[str, int]:
    """The cells that facts which do not apply now have by default once they do."""
    return {
        name: fact.cell_of(fact.default)
        for name, fact in domain.facts.items()
        if fact.default is not None and not applies(fact, facts)
    }


def _costless(domain: Domain, unsaid: Mapping[str, int], facts: Mapping[str, Value]) -> dict[str, Diagram]:
    """Where nothing new has to be said of a variable: it is as it was, or assumed, or does not apply."""
    costless = {name: domain.diagrams.cells(name, [cell]) for name, cell in unsaid.items()}
    for name, fact in domain.facts.items():
        if fact.applies_when is not None:
            if not applies(fact, facts) and fact.default is None:
                costless[name] = domain.empty
            costless[name] |= ~where_holds(domain, fact.applies_when, domain.test)
    return costless


def _change(
    domain: Domain, facts: Mapping[str, Value], here: Mapping[str, int], there: Mapping[str, int]
) -> Change:
    row = domain.rows[there[SUBSTRATE]]
    moved = {
        name: value_in(fact, there[name]) for name, fact in domain.facts.items() if here[name] != there[name]
    }
    after = {**facts, **row.values, **moved}
    changed: dict[str, Value | None] = {}
    for name, fact in domain.facts.items():
        applied, applies_now = applies(fact, facts), applies(fact, after)
        if applied and not applies_now:
            changed[name] = None
        elif applies_now and (name in moved or not applied):
            changed[name] = value_in(fact, there[name])
    return Change(changed, row.symbols[0] if here[SUBSTRATE] != there[SUBSTRATE] else None)
