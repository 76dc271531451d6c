"""Reads JSON and refuses, loudly, what a JSON reader usually lets through.

Refused beside malformed text: duplicate names, NaN and infinities, numbers beyond what a float holds,
integers and fractions of more digits than any measure has, nesting beyond a bound, lone surrogates
and the character NUL (RFC 7493, I-JSON, asks for most of this).
"""

from __future__ import annotations

import json
from typing import Any

from schemas.faults import pointer

MAX_DEPTH = 16
MAX_NUMBER_LENGTH = 24


class MalformedJson(ValueError):
    """The text is not JSON, or not JSON that can be read in one way only; the message says where."""


def read_json(data: bytes) -> Any:
    """The JSON value that `data` holds. Raises MalformedJson."""
    if not data.strip():
        raise MalformedJson("the body is empty")
    try:
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_object,
            parse_int=_integer,
            parse_float=_float,
            parse_constant=_constant,
        )
    except UnicodeDecodeError as error:
        raise MalformedJson(f"the body is not UTF-8: {error.reason} at byte {error.start}") from error
    except json.JSONDecodeError as error:
        raise MalformedJson(f"{error.msg} at line {error.lineno}, column {error.colno}") from error
    except RecursionError:
        raise _too_deep("") from None
    _inspect(value, "", 0)
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members: dict[str, Any] = {}
    for name, value in pairs:
        if name in members:
            raise MalformedJson(f"the member {json.dumps(name[:60])} is given twice in one object")
        members[name] = value
    return members


def _integer(digits: str) -> int:
    return int(_bounded(digits))


def _float(digits: str) -> float:
    number = float(_bounded(digits))
    if number in (float("inf"), float("-inf")):
        raise MalformedJson(f"the number {digits} is too large")
    return number


def _bounded(digits: str) -> str:
    if len(digits) > MAX_NUMBER_LENGTH:
        raise MalformedJson(f"the number {digits[:MAX_NUMBER_LENGTH]}… has too many digits")
    return digits


def _constant(name: str) -> float:
    raise MalformedJson(f"{name} is not a JSON value")


def _inspect(value: Any, at: str, depth: int) -> None:
    if depth > MAX_DEPTH:
        raise _too_deep(at)
    if isinstance(value, str):
        _inspect_text(value, at)
    elif isinstance(value, list):
        for position, element in enumerate(value):
            _inspect(element, pointer(at, position), depth + 1)
    elif isinstance(value, dict):
        for name, member in value.items():
            _inspect_text(name, at)
            _inspect(member, pointer(at, name), depth + 1)


def _inspect_text(text: str, at: str) -> None:
    place = f"at '{at}'" if at else "at the top"
    if "\0" in text:
        raise MalformedJson(f"the text {place} holds the character NUL")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise MalformedJson(f"the text {place} holds half of a surrogate pair") from None


def _too_deep(at: str) -> MalformedJson:
    return MalformedJson(f"the body is nested deeper than {MAX_DEPTH} levels{f' at {at}' if at else ''}")
