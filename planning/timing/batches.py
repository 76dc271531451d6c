"""The stages of a procedure with the pot lives of what is mixed for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from planning.materials.model import MaterialNeed
from planning.model import PlannedStage
from planning.timing.model import PotLifeUse
from planning.timing.pot_life import pot_life_use, tightest_use
from rules.pack import Pack


def with_pot_lives(
    stages: Sequence[PlannedStage],
    pack: Pack,
    needs: Sequence[MaterialNeed],
    air_c: Mapping[str, float | None],
) -> tuple[PlannedStage, ...]:
    """The stages, each told into how many mixes to divide what it uses, in the air at it."""
    needed = {need.material: need for need in needs}
    return tuple(
        stage if use is None else replace(stage, pot_life=use)
        for stage in stages
        for use in (_pot_life(stage, pack, needed, air_c[stage.stage]),)
    )


def _pot_life(
    stage: PlannedStage,
    pack: Pack,
    needed: Mapping[str, MaterialNeed],
    air_c: float | None,
) -> PotLifeUse | None:
    uses = [
        pot_life_use(name, pot, _share_ml(stage.stage, needed.get(name)), stage.work_min.p95, air_c)
        for name in stage.materials
        if (pot := pack.materials[name].pot_life) is not None
    ]
    return tightest_use(uses)


def _share_ml(stage: str, need: MaterialNeed | None) -> float | None:
    """What one of the stages that use a material mixes of it, with what is lost; None: not known."""
    if need is None or need.quantity_ml is None or not need.applied_ml or stage not in need.by_stage_ml:
        return None
    return float(need.by_stage_ml[stage] * need.quantity_ml / need.applied_ml)
