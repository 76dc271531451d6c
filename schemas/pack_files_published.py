"""JSON Schema (draft 2020-12) of every kind of pack file, for editors."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin

from rules.loading.sections import AMENDABLE, NAMED_BY
from schemas.pack_files import PackFile
from schemas.pack_files_fields import ChangesOf, EitherOf, MapOf, Shaped
from schemas.pack_files_shapes import CONDITIONS

Json = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
KINDS: Mapping[str, tuple[str, ...]] = {
    "pack": ("pack", "phases", "resources", "labour"),
    **{kind: (kind,) for kind in NAMED_BY},
    "identification": ("identification",),
    "changes": ("amend", "withdraw"),
}
"""Name of a schema -> the keys at the top of a file of that kind."""

ANY_KIND = "any"
"""The schema of a file that holds several kinds of things."""

_CHANGES = "Changes"
_COMPONENTS, _DEFINITIONS = "#/components/schemas/", "#/$defs/"
_REFERENCE = re.compile(f'"{re.escape(_DEFINITIONS)}(\\w+)"')


def published_schemas() -> dict[str, str]:
    """File name -> text of a schema that stands alone."""
    definitions = _definitions()
    top = definitions.pop(PackFile.__name__)["properties"]
    files = {**KINDS, ANY_KIND: tuple(top)}
    return {f"{name}.json": _file(name, keys, top, definitions) for name, keys in files.items()}


def _file(name: str, keys: tuple[str, ...], top: Json, definitions: Json) -> str:
    properties = {key: top[key] for key in keys}
    needed = _reached(properties, definitions)
    document = {
        "$schema": DIALECT,
        "title": "A file of a rule pack" + (f": {name}" if name != ANY_KIND else ""),
        "type": "object",
        "properties": properties,
        "additionalProperties": False,
        **({"required": [name]} if name in keys else {"minProperties": 1}),
        "$defs": {kind: definitions[kind] for kind in sorted(needed)},
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _definitions() -> Json:
    """Every kind of thing by its name, from the marshmallow schemas."""
    plugin = MarshmallowPlugin()
    spec = APISpec("pack files", "1", "3.1.0", plugins=[plugin])
    assert plugin.converter
    plugin.converter.add_attribute_function(_shape_of)  # type: ignore[no-untyped-call]
    spec.components.schema(PackFile.__name__, schema=PackFile)
    text = json.dumps(spec.to_dict()["components"]["schemas"]).replace(_COMPONENTS, _DEFINITIONS)
    definitions: Json = {**json.loads(text), **CONDITIONS}
    waiting = [name for name in _references(definitions) if name not in definitions]
    while waiting:
        name = waiting.pop()
        if name not in definitions:
            definitions[name] = _changes_of(definitions[name.removesuffix(_CHANGES)])
            waiting += _references(definitions[name])
    return definitions


def _shape_of(converter: Any, field: Any, ret: Json) -> Json:
    """What apispec cannot know of the fields of pack files."""
    if isinstance(field, Shaped):
        return {"anyOf": [field.shape, {"type": "null"}]} if field.allow_none else dict(field.shape)
    if isinstance(field, MapOf):
        return {"propertyNames": {"pattern": f"^{field.names}$"}}
    if isinstance(field, EitherOf):
        suffix = _CHANGES if isinstance(field, ChangesOf) else ""
        kinds = [converter.resolve_nested_schema(kind)["$ref"] + suffix for kind in field.kinds]
        return {"anyOf": [{"$ref": kind} for kind in kinds]}
    return {}


def _changes_of(thing: Json) -> Json:
    """A thing of which any members may be stated, in the mappings inside it too, but not its name."""
    changes: Json = _below({key: value for key, value in thing.items() if key != "required"})
    for kind in AMENDABLE:
        changes["properties"].pop(NAMED_BY[kind], None)
    return changes


def _below(part: Any) -> Any:
    """`part` with changes of things where it has things; a list is replaced whole, with whole things.

    A condition of which any lines are stated is a condition.
    """
    if isinstance(part, list):
        return [_below(each) for each in part]
    if not isinstance(part, dict) or part.get("$ref", "").removeprefix(_DEFINITIONS) in CONDITIONS:
        return part
    return {
        key: f"{value}{_CHANGES}" if key == "$ref" else value if key == "items" else _below(value)
        for key, value in part.items()
    }


def _reached(part: Json, definitions: Json) -> set[str]:
    """The names of all definitions that `part` refers to, directly or not."""
    found: set[str] = set()
    waiting = [*_references(part)]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += _references(definitions[name])
    return found


def _references(part: Json) -> Iterator[str]:
    """The names of the definitions that `part` refers to."""
    return (match.group(1) for match in _REFERENCE.finditer(json.dumps(part)))
