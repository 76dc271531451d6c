"""Conditions and values in words, for messages to people."""

from __future__ import annotations

from rules.conditions import All, Any, Condition, OneOf, Value, Within
from rules.pack import Disposition, ParameterValue


def value_in_words(value: Value | ParameterValue | Disposition | None) -> str:
    """`true`, `false`, a number without a needless fraction, or the text itself."""
    if isinstance(value, Disposition):
        return value.value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"{value:g}"
    return "not given" if value is None else value


def condition_in_words(condition: Condition) -> str:
    """What a condition asks for, in one line."""
    match condition:
        case All(()):
            return "always"
        case All(parts):
            return " and ".join(_part_in_words(part) for part in parts)
        case Any(parts):
            return " or ".join(_part_in_words(part) for part in parts)
        case OneOf(fact, values, negated):
            return f"{fact} is {'not ' if negated else ''}{_listed(values)}"
        case Within(fact, at_least, below, negated):
            return f"{fact} is {'not ' if negated else ''}{_range(at_least, below)}"


def _part_in_words(part: Condition) -> str:
    words = condition_in_words(part)
    return f"({words})" if isinstance(part, (All, Any)) and len(part.parts) > 1 else words


def _listed(values: tuple[Value, ...]) -> str:
    return " or ".join(value_in_words(value) for value in values)


def _range(at_least: float | None, below: float | None) -> str:
    if at_least is None:
        return f"below {value_in_words(below)}"
    if below is None:
        return f"at least {value_in_words(at_least)}"
    return f"at least {value_in_words(at_least)} and below {value_in_words(below)}"
