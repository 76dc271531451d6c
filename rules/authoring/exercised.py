"""Cases with everything known of them once their pack has decided."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rules.cases.model import Case
from rules.conditions import Value
from rules.decider import Decider
from rules.intake import complete
from rules.materials.resolve import resolve
from rules.pack import Pack, Substrate


@dataclass(frozen=True)
class Exercised:
    """A case, its row of the substrate table, and all its facts, derived ones included."""

    case: Case
    substrate: Substrate
    facts: Mapping[str, Value]


def exercised(pack: Pack, cases: Iterable[Case], decider: Decider) -> tuple[Exercised, ...]:
    """Every case as `pack` sees it. Raises FactsRefused, MaterialUnknown or PackFault for one that fails."""
    return tuple(_exercised(pack, case, decider) for case in cases)


def _exercised(pack: Pack, case: Case, decider: Decider) -> Exercised:
    substrate = resolve(pack, case.material)
    facts = complete(pack, substrate, case.given).values
    return Exercised(case, substrate, {**facts, **decider.decide(facts).derived})
