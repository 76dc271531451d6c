"""JSON Schema of what in pack files refers to itself, or to names that only the pack knows."""

from __future__ import annotations

from typing import Any

from rules.kinetics import COLDEST_C, HOTTEST_C
from rules.loading.difficulty import HARDEST
from rules.loading.grades import P_GRADES
from rules.loading.parameters import COVERS, MINUTES, SIZES, WHOLE
from schemas.pack_files_fields import SETTING, SNAKE

Json = dict[str, Any]

SCALAR: Json = {"type": ["string", "number", "boolean"]}
BLOCK: Json = {"$ref": "#/$defs/Block"}
WHEN: Json = {"anyOf": [{"const": "always"}, BLOCK]}

_PLAIN = {"type": ["string", "boolean"]}
_BOUND = {"type": ["number", "null"]}


def _closed(properties: Json, **more: Any) -> Json:
    return {"type": "object", "properties": properties, "additionalProperties": False, **more}


CONDITIONS: Json = {
    "Block": {
        "description": "Every line must hold.",
        "type": "object",
        "minProperties": 1,
        "propertyNames": {"pattern": f"^{SNAKE}$"},
        "properties": {
            "any": {
                "description": "At least one of the blocks holds.",
                "type": "array",
                "minItems": 1,
                "items": BLOCK,
            }
        },
        "additionalProperties": {"$ref": "#/$defs/Test"},
    },
    "Test": {
        "description": "A value, a list of values of which one holds, bounds, or `not` with any of these.",
        "anyOf": [
            {"$ref": "#/$defs/PlainTest"},
            _closed({"not": {"$ref": "#/$defs/PlainTest"}}, required=["not"]),
        ],
    },
    "PlainTest": {
        "anyOf": [
            _PLAIN,
            {"type": "array", "minItems": 1, "uniqueItems": True, "items": _PLAIN},
            _closed({"at_least": _BOUND, "below": _BOUND}, minProperties=1),
        ]
    },
}
"""What `BLOCK` refers to."""

_KINDS: dict[str, Json] = {
    "|".join(WHOLE): {"type": "integer", "minimum": 1, "maximum": 20},
    "|".join(MINUTES): {"type": "number", "minimum": 0},
    "|".join(SIZES): {"type": "number", "minimum": 0, "maximum": 10_000},
    "abrasive": {"enum": list(P_GRADES)},
    "covers": {"enum": list(COVERS)},
    "temperature_c": {"type": "number", "minimum": COLDEST_C, "maximum": HOTTEST_C},
}


def _by_parameter(before: str, names: str, or_else: Json | None = None) -> Json:
    """A mapping from parameters, those with a meaning for planning being of their own type."""

    def shape(own: Json) -> Json:
        return {"anyOf": [own, or_else]} if or_else else own

    return {
        "type": "object",
        "propertyNames": {"pattern": f"^{names}$"},
        "patternProperties": {f"{before}({name})$": shape(own) for name, own in _KINDS.items()},
        "additionalProperties": shape(SCALAR),
    }


_FACTOR: Json = {"type": "number", "minimum": 1, "maximum": HARDEST}
HARDER: Json = {
    "type": "object",
    "propertyNames": {"pattern": f"^{SNAKE}$"},
    "additionalProperties": {
        "anyOf": [
            _FACTOR,
            {
                "type": "object",
                "propertyNames": {"pattern": f"^{SNAKE}$"},
                "additionalProperties": _FACTOR,
            },
        ]
    },
}
PARAMETERS = _by_parameter("^", SNAKE)
SETTINGS = _by_parameter(r"\.", SETTING)
_BOUNDS_OR_UNSET: Json = {
    "anyOf": [_closed({"at_least": _BOUND, "at_most": _BOUND}, minProperties=1), {"type": "null"}]
}
WANTED = _by_parameter(r"\.", SETTING, _BOUNDS_OR_UNSET)
GIVEN: Json = {
    "type": "object",
    "required": ["material"],
    "propertyNames": {"pattern": f"^{SNAKE}$"},
    "properties": {
        "material": {"description": "A symbol, a marking or a word of the trade.", "type": "string"}
    },
    "additionalProperties": SCALAR,
}
