"""Writes what may be null so that generators of clients make one type of it, with a name of its own.

`{type: [string, null], enum: [primed, bare, null]}` says the same as two alternatives, but is read by some as
several enumerations. Objects fare alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]

_SAID_OF_BOTH = ("description", "default", "examples", "deprecated")


def part_from_null(schema: Json) -> None:
    """Everywhere in a schema: properties that are one of some values, or an object, or null."""
    properties = schema.get("properties", {})
    for name, described in properties.items():
        if _is_parted(described):
            properties[name] = _parted(name, described)
    for each in _schemas_in(schema):
        part_from_null(each)


def _schemas_in(schema: Json) -> Iterator[Json]:
    yield from schema.get("properties", {}).values()
    yield from schema.get("anyOf", ())
    for member in ("items", "additionalProperties"):
        if isinstance(schema.get(member), dict):
            yield schema[member]


def _is_parted(described: Json) -> bool:
    kinds = described.get("type")
    return isinstance(kinds, list) and "null" in kinds and ("enum" in described or "object" in kinds)


def _parted(name: str, described: Json) -> Json:
    one = {member: value for member, value in described.items() if member not in _SAID_OF_BOTH}
    (one["type"],) = (kind for kind in described["type"] if kind != "null")
    if "enum" in one:
        one["enum"] = [value for value in one["enum"] if value is not None]
    said = {member: value for member, value in described.items() if member in _SAID_OF_BOTH}
    title = "".join(word.capitalize() for word in name.split("_"))
    return {"anyOf": [{"title": title, **one}, {"type": "null"}], **said}
