"""The pick list: everything to take from the store for a procedure, once, in the order of first use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from planning.materials.model import MaterialNeed, PickLine
from planning.materials.packages import bought_ml, packages_for
from rules.pack import Component, Material


@dataclass
class _Mixed:
    """A component of one or more mixes, while it is gathered."""

    component: Component
    quantity_ml: Decimal = Decimal(0)
    used_for: tuple[str, ...] = ()


def pick_list(needs: Sequence[MaterialNeed], materials: Mapping[str, Material]) -> tuple[PickLine, ...]:
    """One line for each thing; what is mixed is picked by component, each rounded up to packages once.

    Components of one name are one thing where they are bought in the same sizes.
    """
    lines: dict[object, PickLine | _Mixed] = {}
    components = {part.component for need in needs if need.recipe is not None for part in need.recipe.parts}
    for need in needs:
        if need.recipe is None:
            if need.material not in components:
                lines[need.material] = _whole(need)
            continue
        known = {each.id: each for each in materials[need.material].mix}
        for part in need.recipe.parts:
            component = known[part.component]
            key = (component.id, component.packages_ml)
            mixed = lines.get(key)
            if not isinstance(mixed, _Mixed):
                mixed = lines[key] = _Mixed(component)
            mixed.quantity_ml += part.volume_ml
            mixed.used_for += need.stages
    return tuple([_mixed(line) if isinstance(line, _Mixed) else line for line in lines.values()])


def _whole(need: MaterialNeed) -> PickLine:
    return PickLine(
        item=need.material,
        title=need.title,
        used_for=need.stages,
        quantity_ml=need.quantity_ml,
        packages=need.packages,
        left_over_ml=need.left_over_ml,
        pieces=need.pieces,
        strips=need.strips,
    )


def _mixed(line: _Mixed) -> PickLine:
    packages = packages_for(ceil(line.quantity_ml), line.component.packages_ml)
    return PickLine(
        item=line.component.id,
        title=line.component.title,
        used_for=tuple(dict.fromkeys(line.used_for)),
        quantity_ml=line.quantity_ml,
        packages=packages,
        left_over_ml=bought_ml(packages) - line.quantity_ml if packages else None,
        pieces=(),
        strips=(),
    )
