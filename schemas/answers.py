"""What is common to the schemas that describe answers.

They document and are held to what is sent by tests; the documents themselves are built by plain
functions, which is many times faster than dumping through a schema.
"""

from __future__ import annotations

from typing import Any

from marshmallow import EXCLUDE, Schema, fields

from schemas.fields import about


class Answer(Schema):
    """An object that is sent. Every member is always there, null where nothing can be said, unless
    it is marked `optional`.

    Members may be added in later versions; a client leaves out of account what it does not know.
    """

    class Meta:
        unknown = EXCLUDE

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        field_obj.required = field_obj.metadata.get("optional") is not True


def text(says: str, *, null: bool = False, **published: Any) -> fields.String:
    """A text member; `null` where it may be null."""
    return fields.String(allow_none=null, metadata=about(says, **published))


def number(says: str, *, null: bool = False, **published: Any) -> fields.Float:
    """A number member."""
    return fields.Float(allow_none=null, metadata=about(says, **published))


def whole(says: str, *, null: bool = False, **published: Any) -> fields.Integer:
    """A member that is a whole number."""
    return fields.Integer(allow_none=null, metadata=about(says, **published))


def truth(says: str, *, null: bool = False) -> fields.Boolean:
    """A member that is true or false."""
    return fields.Boolean(allow_none=null, metadata=about(says))


def scalar(says: str, *, null: bool = True) -> fields.Raw:
    """A member that is a text, a number or a truth value."""
    types = ["string", "number", "boolean", *(["null"] if null else [])]
    return fields.Raw(metadata=about(says, type=types))


def decimal(says: str, *, null: bool = False) -> fields.String:
    """A decimal number as text."""
    return text(says, null=null, pattern=r"^[0-9]+(\.[0-9]+)?$")


def moment(says: str, *, null: bool = False) -> fields.String:
    """A date and time with offset (RFC 3339)."""
    return text(says, null=null, format="date-time")


def texts(says: str, **published: Any) -> fields.List[str]:
    """A list of texts."""
    return fields.List(fields.String(), metadata=about(says, **published))


def numbers(says: str) -> fields.List[float]:
    """A list of numbers."""
    return fields.List(fields.Float(), metadata=about(says))


def table(of: fields.Field[Any], says: str) -> fields.Dict:
    """An object whose member names are data."""
    return fields.Dict(keys=fields.String(), values=of, metadata=about(says))


def one(schema: type[Schema], says: str, *, null: bool = False, **published: Any) -> fields.Nested:
    """An object member."""
    return fields.Nested(schema, allow_none=null, metadata=about(says, **published))


def many(schema: type[Schema], says: str, **published: Any) -> fields.List[Any]:
    """A list of objects."""
    return fields.List(fields.Nested(schema), metadata=about(says, **published))


class PackNamed(Answer):
    name = text("The name of the rule pack.")
    version = text("Its version.")
    digest = text("A digest over every byte of its files.")
