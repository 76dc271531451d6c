"""Parameters of a stage: their values for one line item, and instructions that name them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from rules.conditions import Value
from rules.decision import Setting
from rules.pack import ParameterValue, Stage

Parameters = Mapping[str, ParameterValue]

_PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_]*)\}")


def parameters_of(
    stage: Stage, settings: Mapping[tuple[str, str], Setting], properties: Mapping[str, Value]
) -> dict[str, ParameterValue]:
    """Catalogue values, over them what rules set, over both what the substrate fixes.

    The substrate comes last because it states limits that no rule may lift.
    """
    chosen = {name: setting.value for (target, name), setting in settings.items() if target == stage.id}
    fixed = {name: properties[fact] for name, fact in stage.from_substrate.items()}
    return dict(stage.parameters) | chosen | fixed


def number(parameters: Parameters, name: str) -> float | None:
    """The value of a numeric parameter, None where the stage has none. Raises ValueError for another kind."""
    value = parameters.get(name)
    if value is None:
        return None
    if isinstance(value, (bool, str)):
        raise ValueError(f"parameter '{name}' is {value!r}; it must be a number")
    return float(value)


def text(parameters: Parameters, name: str) -> str | None:
    """The value of a parameter as people write it, None where the stage has none."""
    return written(parameters[name]) if name in parameters else None


def filled_in(instruction: str, parameters: Parameters) -> str:
    """The instruction with every `{parameter}` replaced by its value, nothing else interpreted.

    Braces that name no parameter stay as they are.
    """
    if "{" not in instruction:
        return instruction

    def value_of(match: re.Match[str]) -> str:
        found = text(parameters, match[1])
        return match[0] if found is None else found

    return _PLACEHOLDER.sub(value_of, instruction)


def written(value: ParameterValue) -> str:
    """A value as people write it: 2, 2.5, yes, P180."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
