"""The assumptions that bear on a procedure."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from rules.bearing import facts_of_work_alone
from rules.intake import Assumption
from rules.pack import Pack


def idle_facts(pack: Pack, stages: Iterable[str]) -> frozenset[str]:
    """The facts that only make work harder of which these stages have none."""
    hardening = {fact for stage in stages for fact in pack.stages[stage].work.harder}
    return facts_of_work_alone(pack) - hardening


def bearing(assumptions: Iterable[Assumption], idle: Collection[str]) -> tuple[Assumption, ...]:
    """The assumptions without those of facts that bear on nothing."""
    return tuple([assumption for assumption in assumptions if assumption.fact not in idle])
