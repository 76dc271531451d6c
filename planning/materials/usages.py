"""Which stages use each material, how it is mixed for them, and the way in which its quantity is reckoned."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from planning.materials.mixing import joined
from planning.materials.reckoning import Use, Way, way_of
from planning.parameters import Parameters, number, text
from rules.pack import Component, Material, Stage


@dataclass(frozen=True)
class Usage:
    """A material with the ids of the stages that use it, its components as they are joined, and the way."""

    material: Material
    stages: tuple[str, ...]
    mix: tuple[Component, ...]
    way: Way


def usages_of(
    stages: Mapping[str, Stage],
    parameters: Mapping[str, Parameters],
    materials: Mapping[str, Material],
) -> tuple[Usage, ...]:
    """What these stages, in working order, use, in the order of first use."""
    uses: dict[str, list[Use]] = {}
    for name, stage in stages.items():
        for material in stage.materials:
            use = _use(stage, parameters[name], materials[material])
            uses.setdefault(material, []).append(use)
    return tuple(_usage(materials[name], tuple(of_it), stages) for name, of_it in uses.items())


def _use(stage: Stage, parameters: Parameters, material: Material) -> Use:
    return Use(
        stage=stage.id,
        title=stage.title,
        parameters=parameters,
        coats=int(number(parameters, "coats") or 0) or 1,
        grade=text(parameters, "abrasive") if material.graded else None,
        amounts=tuple(amount for amount in stage.amounts if amount.material == material.id),
    )


def _usage(material: Material, uses: tuple[Use, ...], present: Collection[str]) -> Usage:
    mix = joined(material.mix, present)
    return Usage(material, tuple(use.stage for use in uses), mix, way_of(material, uses, mix))
