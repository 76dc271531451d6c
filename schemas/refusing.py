"""The base of every schema that takes requests."""

from __future__ import annotations

from marshmallow import Schema


class Refusing(Schema):
    """An object that refuses members which are not declared."""

    error_messages = {"unknown": "is not a member here", "type": "must be an object"}  # noqa: RUF012
