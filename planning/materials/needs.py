"""How much material a procedure uses: what gets onto the part, what is lost, how it is mixed and bought.

Inside, quantities are floats; what is shown is rounded once, up: each part to a tenth of a millilitre, their
sum to a whole one. Packages come last, for the whole job.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from math import ceil

from planning.job import Spot
from planning.materials.mixing import recipe
from planning.materials.model import Lost, MaterialNeed, Package
from planning.materials.packages import bought_ml, packages_for
from planning.materials.reckoning import Areas, Reckoned
from planning.materials.usages import Usage
from planning.rounding import tenths_decimal
from rules.pack import Material


def material_needs(usages: Sequence[Usage], areas_m2: Areas, spot: Spot) -> tuple[MaterialNeed, ...]:
    """What stages that cover these areas use at a damage of this size, in the order of `usages`."""
    needs = [_need(usage, usage.way.reckoned(areas_m2, spot)) for usage in usages]
    mixed = {part.component for need in needs if need.recipe for part in need.recipe.parts}
    return tuple(
        [
            _as_component(need, usage.material, needs) if need.material in mixed else need
            for need, usage in zip(needs, usages, strict=True)
        ]
    )


def _need(usage: Usage, found: Reckoned) -> MaterialNeed:
    material = usage.material
    if found.by_stage_ml is None:
        return MaterialNeed(
            material.id,
            material.title,
            material.kind,
            usage.stages,
            None,
            _basis(found.told, ()),
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
    packages, bought, left_over = _bought(whole_ml, material)
    return MaterialNeed(
        material=material.id,
        title=material.title,
        kind=material.kind,
        stages=usage.stages,
        quantity_ml=Decimal(whole_ml),
        basis=_basis(found.told, lost),
        applied_ml=tenths_decimal(applied),
        by_stage_ml={stage: tenths_decimal(volume) for stage, volume in by_stage.items()},
        lost=lost,
        film=found.film,
        recipe=recipe(usage.mix, whole_ml) if usage.mix else None,
        packages=packages,
        bought_ml=bought,
        left_over_ml=left_over,
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


def _as_component(need: MaterialNeed, material: Material, needs: Iterable[MaterialNeed]) -> MaterialNeed:
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
    told = " and ".join(f"{volume_ml:f} ml in {title}" for title, volume_ml in mixes)
    whole_ml = ceil(sum(volume_ml for _, volume_ml in mixes))
    packages, bought, left_over = _bought(whole_ml, material)
    return need._replace(
        basis=f"By the recipes: {told}.",
        quantity_ml=Decimal(whole_ml),
        packages=packages,
        bought_ml=bought,
        left_over_ml=left_over,
    )


def _bought(whole_ml: int, material: Material) -> tuple[tuple[Package, ...], Decimal | None, Decimal | None]:
    """The packages to buy, what is in them, and what is left of it; None where nothing is bought."""
    packages = packages_for(whole_ml, material.packages_ml)
    if not packages:
        return packages, None, None
    bought = bought_ml(packages)
    return packages, Decimal(bought), Decimal(bought - whole_ml)


def _tenths_up(value: float) -> int:
    """The next whole number of tenths, blind to what floating point adds in the last places."""
    return ceil(round(value * 10, 6))
