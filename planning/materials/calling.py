"""What a stage uses where one of its parameters calls for another material than the catalogue names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planning.parameters import Parameters
from rules.pack import Material, Stage


def as_called(stage: Stage, parameters: Parameters, materials: Mapping[str, Material]) -> Stage:
    """The stage with each material that a parameter calls for in the place of its own of that kind.

    So a stage that asks for a mild cleaner uses that, in the amounts that it states for its usual one.
    """
    said = {value for value in parameters.values() if isinstance(value, str)}
    called = {each.kind: each.id for each in materials.values() if each.called in said}
    instead = {
        name: called[materials[name].kind] for name in stage.materials if materials[name].kind in called
    }
    if not instead:
        return stage
    return replace(
        stage,
        materials=tuple(dict.fromkeys(instead.get(name, name) for name in stage.materials)),
        amounts=tuple(
            replace(amount, material=instead.get(amount.material, amount.material))
            for amount in stage.amounts
        ),
    )
