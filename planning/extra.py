"""What one procedure asks beyond another for the same line item."""

from __future__ import annotations

from dataclasses import dataclass

from planning.model import Procedure


@dataclass(frozen=True)
class Extra:
    """Stages that only the one or only the other has, each in working order, and the added time.

    Minutes are differences of medians, negative where the one is quicker.
    """

    stages_added: tuple[str, ...]
    stages_left_out: tuple[str, ...]
    work_min: float
    elapsed_min: float


def extra(procedure: Procedure, over: Procedure) -> Extra:
    """What `procedure` asks beyond `over`."""
    own, others = ([stage.stage for stage in each.stages] for each in (procedure, over))
    return Extra(
        stages_added=tuple(stage for stage in own if stage not in others),
        stages_left_out=tuple(stage for stage in others if stage not in own),
        work_min=procedure.totals.work_min.p50 - over.totals.work_min.p50,
        elapsed_min=procedure.totals.elapsed_min.p50 - over.totals.elapsed_min.p50,
    )
