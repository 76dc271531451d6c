"""Runs cases on an engine."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from rules.cases.comparing import differences
from rules.cases.model import Case
from rules.decider import Decider
from rules.decision import PackFault
from rules.findings import Finding, in_order
from rules.intake import FactsRefused, complete
from rules.materials.resolve import resolve
from rules.pack import Pack, Substrate
from rules.places import Place

Order = Callable[[Pack, Iterable[str]], Sequence[str]]
"""(pack, required stages) -> the same stages in working order."""


@dataclass(frozen=True)
class CaseResult:
    """One case that was run. It passed when there are no `findings`; `fired` are ids of rules."""

    case: Case
    findings: tuple[Finding, ...]
    fired: frozenset[str]


def run_cases(
    pack: Pack,
    cases: Iterable[Case],
    decider: Decider,
    order: Order,
    resolve_material: Callable[[Pack, str], Substrate] = resolve,
) -> tuple[CaseResult, ...]:
    """Run every case, in the order given.

    `resolve_material` gives the row for what a case calls its material, or raises ValueError.
    """
    return tuple(_run(pack, case, decider, order, resolve_material) for case in cases)


def failures(pack: Pack, results: Sequence[CaseResult]) -> tuple[Finding, ...]:
    """Everything that failed. No case at all is a failure too."""
    if not results:
        told = f"the pack '{pack.name}' has no case; add one to cases/, as rules/README.md shows"
        return (Finding("R410", Place("pack.yaml", 1, 1, pack.name), told),)
    return in_order(finding for result in results for finding in result.findings)


def unexercised(pack: Pack, results: Iterable[CaseResult]) -> tuple[str, ...]:
    """The rules of the uppermost pack that fired in no case, sorted."""
    fired = frozenset().union(*(result.fired for result in results))
    return tuple(
        sorted(
            rule.id for rule in pack.rules.values() if rule.place.pack == pack.name and rule.id not in fired
        )
    )


def _run(
    pack: Pack,
    case: Case,
    decider: Decider,
    order: Order,
    resolve_material: Callable[[Pack, str], Substrate],
) -> CaseResult:
    try:
        substrate = resolve_material(pack, case.material)
        decision = decider.decide(complete(pack, substrate, case.given).values)
    except FactsRefused as error:
        return _failed(case, "R407", f"its facts are refused: {error}; mend 'given'")
    except PackFault as error:
        return _failed(case, "R408", f"the pack gives no single answer: {error}; mend the rules")
    except ValueError as error:
        return _failed(case, "R409", f"its material cannot be told: {error}; write a symbol or an alias")
    ordered = order(pack, decision.stages)
    found = tuple(differences(pack, case, substrate, decision, ordered))
    return CaseResult(case, found, frozenset(decision.fired))


def _failed(case: Case, code: str, told: str) -> CaseResult:
    return CaseResult(case, (Finding(code, case.place, f"case '{case.name}': {told}"),), frozenset())
