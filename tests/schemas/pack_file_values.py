"""A pack file as an editor with JSON Schema sees it, and as the loader reads it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from rules.loading.composing import compose
from rules.loading.nodes import Items, Members, Node, Scalar, Spelling
from rules.loading.report import Report
from rules.loading.row import Row
from rules.places import Place


def value_of(text: str) -> Any:
    """The JSON value of a file, by the core schema of YAML 1.2."""
    root = compose(text, "", "", Report())
    assert root is not None
    return _json(root)


def _json(node: Node) -> Any:
    match node:
        case Items(_, nodes):
            return [_json(item) for item in nodes]
        case Members(_, nodes):
            return {name: _json(value) for name, value in nodes.items()}
    match node.spelling:
        case Spelling.NUMBER:
            return float(node.text) if "." in node.text else int(node.text)
        case Spelling.BOOLEAN:
            return node.text == "true"
        case Spelling.NULL:
            return None
    return node.text


class Rows:
    """The mappings with a closed set of members that the loader reads: which it knows, which it requires."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.known: dict[Place, tuple[frozenset[str], frozenset[str]]] = {}
        read = Row.__init__

        def recording(
            row: Row, node: Node, what: str, report: Report, required: Any, optional: Any = ()
        ) -> None:
            if isinstance(node, Members):
                self.known[node.place] = frozenset((*required, *optional)), frozenset(required)
            read(row, node, what, report, required, optional)

        monkeypatch.setattr(Row, "__init__", recording)


def described(node: Node, schema: Any, definitions: Any) -> Iterator[tuple[Place, list[Any]]]:
    """Every mapping in a document, with the schemas that may describe it."""
    choices = [*resolved(schema, definitions)]
    if isinstance(node, Items):
        below = [choice["items"] for choice in choices if "items" in choice]
        for item in node.nodes:
            yield from described(item, {"anyOf": below}, definitions)
    if isinstance(node, Members):
        fitting = [choice for choice in choices if "object" in choice.get("type", ()) and _fits(node, choice)]
        yield node.place, fitting
        for name, value in node.nodes.items():
            below = [member_of(choice, name) for choice in fitting]
            yield from described(value, {"anyOf": [each for each in below if each]}, definitions)


def member_of(schema: Any, name: str) -> Any:
    """The schema of a member; None where no other member than those named is described."""
    return schema.get("properties", {}).get(name) or schema.get("additionalProperties") or None


def resolved(schema: Any, definitions: Any) -> Iterator[Any]:
    """The alternatives of a schema, references followed, null left out."""
    for each in schema.get("anyOf", ()):
        yield from resolved(each, definitions)
    if "$ref" in schema:
        yield from resolved(definitions[schema["$ref"].rpartition("/")[2]], definitions)
    elif "anyOf" not in schema and schema.get("type") != "null":
        yield schema


def _fits(node: Members, schema: Any) -> bool:
    """Whether the member `kind`, where there is one, is of this schema, and so are `not` and `mix`."""
    if any((name in node.nodes) != (name in schema.get("properties", {})) for name in ("not", "mix")):
        return False
    kind, wanted = node.nodes.get("kind"), schema.get("properties", {}).get("kind", {})
    allowed = [wanted["const"]] if "const" in wanted else wanted.get("enum")
    return allowed is None or not isinstance(kind, Scalar) or kind.text in allowed
