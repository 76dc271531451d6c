"""How much material a procedure uses: what gets onto the part, what is lost, how it is mixed and bought.

Inside, quantities are floats; what is shown is rounded once, up: each part to a tenth of a millilitre, their
sum to a whole one. Packages come last, for the whole job.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from math import ceil

from planning.job import Job
from planning.materials.areas import Spot, covered_m2, spot_of
from planning.materials.mixing import joined, recipe
from planning.materials.model import Lost, MaterialNeed
from planning.materials.packages import bought_ml, packages_for
from planning.materials.reckoning import Use, reckoned
from planning.model import PlannedStage
from planning.rounding import tenths_decimal
from rules.pack import Material, Stage


def material_needs(
    stages: Sequence[PlannedStage],
    catalogue: Mapping[str, Stage],
    materials: Mapping[str, Material],
    job: Job,
) -> tuple[MaterialNeed, ...]:
    """What the stages use, in the order of first use."""
    spot = spot_of(job)
    users: dict[str, list[Use]] = {}
    for stage in stages:
        if not stage.materials:
            continue
        area_m2 = covered_m2(stage.parameters, spot, job.area_m2)
        amounts = catalogue[stage.stage].amounts
        for name in stage.materials:
            of_it = tuple(each for each in amounts if each.material == name) if amounts else ()
            users.setdefault(name, []).append(Use(stage, area_m2, of_it))
    present = {stage.stage for stage in stages}
    needs = [_need(materials[name], uses, present, spot) for name, uses in users.items()]
    return tuple(_as_component(need, materials, needs) for need in needs)


def _need(material: Material, uses: Sequence[Use], present: Collection[str], spot: Spot) -> MaterialNeed:
    mix = joined(material.mix, present)
    found = reckoned(material, uses, mix, spot)
    stages = tuple([use.stage.stage for use in uses])
    if found.by_stage_ml is None:
        told = _basis(found.told, ())
        return MaterialNeed(
            material.id,
            material.title,
            material.kind,
            stages,
            None,
            told,
            pieces=found.pieces,
            strips=found.strips,
        )
    by_stage = {stage: _tenths_up(volume_ml) for stage, volume_ml in found.by_stage_ml.items()}
    losses = _losses(material, found.by_stage_ml.values())
    applied = sum(by_stage.values())
    whole_ml = -(-(applied + sum(losses)) // 10)
    lost = tuple(
        [
            Lost(loss.what, tenths_decimal(tenths), loss.source)
            for loss, tenths in zip(material.losses, losses, strict=True)
        ]
    )
    packages = packages_for(whole_ml, material.packages_ml)
    bought = bought_ml(packages)
    return MaterialNeed(
        material=material.id,
        title=material.title,
        kind=material.kind,
        stages=stages,
        quantity_ml=Decimal(whole_ml),
        basis=_basis(found.told, lost),
        applied_ml=tenths_decimal(applied),
        by_stage_ml={stage: tenths_decimal(volume) for stage, volume in by_stage.items()},
        lost=lost,
        film=found.film,
        recipe=recipe(mix, whole_ml) if mix else None,
        packages=packages,
        bought_ml=Decimal(bought) if packages else None,
        left_over_ml=Decimal(bought - whole_ml) if packages else None,
        pieces=found.pieces,
        strips=found.strips,
    )


def _basis(told: str, lost: Sequence[Lost]) -> str:
    if not lost:
        return told if told.endswith(".") else told + "."
    besides = ", ".join([f"{each.quantity_ml:f} ml {each.what}" for each in lost])
    return f"{told}; lost besides: {besides}."


def _losses(material: Material, volumes_ml: Collection[float]) -> list[int]:
    """Each loss in tenths of a millilitre; `ml` counts once for each stage that takes any of the material."""
    if not material.losses:
        return []
    times, whole_ml = sum(volume_ml > 0 for volume_ml in volumes_ml), sum(volumes_ml)
    return [_tenths_up(loss.ml * times + whole_ml * loss.pct / 100) for loss in material.losses]


def _as_component(
    need: MaterialNeed, materials: Mapping[str, Material], needs: Iterable[MaterialNeed]
) -> MaterialNeed:
    """What is used as a component of mixes alone takes its quantity from their recipes."""
    if need.quantity_ml is not None or need.pieces or need.strips:
        return need
    mixes = [
        (other.title, part.volume_ml)
        for other in needs
        if other.recipe
        for part in other.recipe.parts
        if part.component == need.material
    ]
    if not mixes:
        return need
    told = " and ".join(f"{volume_ml:f} ml in {title}" for title, volume_ml in mixes)
    whole_ml = ceil(sum(volume_ml for _, volume_ml in mixes))
    packages = packages_for(whole_ml, materials[need.material].packages_ml)
    return replace(
        need,
        basis=f"By the recipes: {told}.",
        quantity_ml=Decimal(whole_ml),
        packages=packages,
        bought_ml=Decimal(bought_ml(packages)) if packages else None,
        left_over_ml=bought_ml(packages) - Decimal(whole_ml) if packages else None,
    )


def _tenths_up(value: float) -> int:
    """The next whole number of tenths, blind to what floating point adds in the last places."""
    return ceil(round(value * 10, 6))
