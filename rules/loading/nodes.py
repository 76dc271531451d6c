"""A YAML document as nodes that know where they were written."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from rules.places import Place


class Spelling(Enum):
    """What a scalar was written as. FAULTY has been reported and is not to be reported again."""

    TEXT = "text"
    NUMBER = "number"
    BOOLEAN = "boolean"
    NULL = "null"
    DATE = "date"
    FAULTY = "faulty"


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value; `text` is what was written, without quotes."""

    place: Place
    spelling: Spelling
    text: str


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    place: Place
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Members:
    """A mapping: each member's value, and the place of its key."""

    place: Place
    nodes: dict[str, Node]
    keys: dict[str, Place]


Node = Scalar | Items | Members


def is_null(node: Node | None) -> bool:
    """Whether `null` was written."""
    return isinstance(node, Scalar) and node.spelling is Spelling.NULL
