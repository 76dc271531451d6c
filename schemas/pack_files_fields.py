"""Fields of pack files: what an editor can tell of a single value, ahead of the loader."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import RAISE, Schema, fields, validate

KEBAB = "[a-z][a-z0-9]*(-[a-z0-9]+)*"
SNAKE = "[a-z][a-z0-9]*(_[a-z0-9]+)*"
SETTING = f"{KEBAB}\\.{SNAKE}"
ANY_NAME = ".+"
LONGEST_NAME = 64

Shape = Mapping[str, Any]


class Thing(Schema):
    """A mapping with a closed set of members, in the order in which `rules/README.md` shows them."""

    class Meta:
        unknown = RAISE


class Shaped(fields.Field[Any]):
    """A value that is described by JSON Schema as it stands."""

    def __init__(self, shape: Shape, **options: Any) -> None:
        super().__init__(**options)
        self.shape = shape


class EitherOf(fields.Field[Any]):
    """A mapping of one of several kinds."""

    def __init__(self, *kinds: type[Schema], **options: Any) -> None:
        super().__init__(**options)
        self.kinds = kinds


class ChangesOf(EitherOf):
    """Some members of a thing of the pack below, with new values; all but its name."""


class MapOf(fields.Dict):
    """A mapping from names of one form to values of one kind."""

    def __init__(self, names: str, values: fields.Field[Any], **options: Any) -> None:
        super().__init__(values=values, **options)
        self.names = names


def told(about: str = "", required: bool = False, **more: Any) -> dict[str, Any]:
    """The options of a field. What is not required may be null, which means that it is not there."""
    metadata = {"description": about} if about else {}
    return {"required": required, "allow_none": not required, "metadata": {**metadata, **more}}


def text(about: str = "", required: bool = False, pattern: str = r"\S") -> fields.String:
    """A text that is not blank."""
    return fields.String(**told(about, required, pattern=pattern))


def name(about: str = "", required: bool = False, form: str = KEBAB) -> fields.String:
    """A name in small letters."""
    return fields.String(**told(about, required, pattern=f"^{form}$", maxLength=LONGEST_NAME))


def choice(*choices: str, about: str = "", required: bool = False) -> fields.String:
    """One of a closed list of words."""
    return fields.String(validate=validate.OneOf(choices), **told(about, required))


def number(
    about: str = "", required: bool = False, at_least: float | None = None, at_most: float | None = None
) -> fields.Float:
    """A number, inside bounds where there are any."""
    bounds = {"minimum": at_least, "maximum": at_most}
    return fields.Float(**told(about, required, **{key: at for key, at in bounds.items() if at is not None}))


def truth(about: str = "") -> fields.Boolean:
    """True or false."""
    return fields.Boolean(**told(about))


def list_of(
    item: fields.Field[Any], about: str = "", required: bool = False, least: int = 0, unique: bool = True
) -> fields.List[Any]:
    """A list with at least `least` items; with `unique`, no two alike."""
    bounds = {"minItems": least} if least else {}
    return fields.List(item, **told(about, required, **bounds, **({"uniqueItems": True} if unique else {})))


def texts(about: str = "", required: bool = False, least: int = 0) -> fields.List[Any]:
    """A list of texts, each once."""
    return list_of(text(required=True), about, required, least)


def names(about: str = "", required: bool = False, least: int = 0, form: str = KEBAB) -> fields.List[Any]:
    """A list of names, each once."""
    return list_of(name(required=True, form=form), about, required, least)


def part(kind: type[Schema], about: str = "", required: bool = False) -> fields.Nested:
    """A mapping inside another."""
    return fields.Nested(kind, **told(about, required))
