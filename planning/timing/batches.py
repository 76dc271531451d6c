"""What is mixed for the stages of a procedure, and into how many mixes it is divided."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planning.materials.model import MaterialNeed
from planning.stages import SizedStage
from planning.timing.model import PotLifeUse
from planning.timing.pot_life import Applying, Pot, pot_life_use, tightest_use
from rules.pack import Material, Stage


def pots_of(
    stages: Iterable[Stage], materials: Mapping[str, Material], air_c: Mapping[str, float | None]
) -> dict[str, tuple[Pot, ...]]:
    """What is mixed, by stage, for those of `stages` that mix anything."""
    found = {
        stage.id: tuple(
            Pot(name, life, air_c[stage.id], mixed_ahead=bool(materials[name].mix))
            for name in stage.materials
            if (life := materials[name].pot_life) is not None
        )
        for stage in stages
    }
    return {stage: pots for stage, pots in found.items() if pots}


def pot_lives(
    pots: Mapping[str, tuple[Pot, ...]],
    needs: Iterable[MaterialNeed],
    sizes: Mapping[str, SizedStage],
) -> dict[str, PotLifeUse | None]:
    """By stage, into how many mixes to divide what it uses."""
    needed = {need.material: need for need in needs}
    return {
        stage: tightest_use(
            [
                pot_life_use(pot, _share_ml(stage, needed[pot.material]), applying(sizes[stage], pot))
                for pot in of_stage
            ]
        )
        for stage, of_stage in pots.items()
    }


def applying(size: SizedStage, pot: Pot) -> Applying:
    """How a stage applies what is mixed for it, on a slow day (95 % of jobs).

    Mixed ahead it is in use all the time. Else applying is what goes by the size of the job, and what the
    catalogue says of the rest; where it says nothing and nothing goes by size, all of the work counts.
    """
    effort = size.ready.effort
    times, once_min = effort.coats * effort.passes, effort.work.fixed_min + size.by_size_min
    slow = size.work_min.p95 / (times * once_min) if times * once_min else 0.0
    applying_min = once_min if pot.mixed_ahead else (effort.work.applying_min + size.by_size_min) or once_min
    return Applying(times, slow * (once_min - applying_min), slow * applying_min)


def _share_ml(stage: str, need: MaterialNeed) -> float | None:
    """What one of the stages that use a material mixes of it, with what is lost; None: not known."""
    if need.quantity_ml is None or not need.applied_ml or stage not in need.by_stage_ml:
        return None
    return float(need.by_stage_ml[stage] * need.quantity_ml / need.applied_ml)
