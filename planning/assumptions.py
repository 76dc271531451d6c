"""The assumptions that bear on a procedure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planning.model import PlannedStage
from rules.bearing import facts_of_work_alone
from rules.intake import Assumption
from rules.pack import Pack


def bearing(
    pack: Pack, assumptions: Iterable[Assumption], stages: Sequence[PlannedStage]
) -> tuple[Assumption, ...]:
    """The assumptions without those that only make work harder of which these stages have none."""
    hardening = {fact for stage in stages for fact in pack.stages[stage.stage].work.harder}
    idle = facts_of_work_alone(pack) - hardening
    return tuple(assumption for assumption in assumptions if assumption.fact not in idle)
