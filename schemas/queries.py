"""The query parameters of reading requests."""

from __future__ import annotations

from marshmallow import Schema

from schemas.fields import Digits, Flag, Text, about, between, length, line

UNKNOWN_PARAMETER = {"unknown": "is not known here", "type": "must be query parameters"}


class ProceduresQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    line_item = line(
        100,
        required=True,
        metadata=about("The reference of the line item.", examples=["RO-20417-3"]),
    )
    limit = Digits(load_default=20, validate=between(1, 100), metadata=about("At most so many items."))
    cursor = Text(validate=length(1, 500), metadata=about("Where to go on; taken from `Link: rel=next`."))


class ActualsQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    limit = Digits(load_default=100, validate=between(1, 100), metadata=about("At most so many items."))
    cursor = Text(validate=length(1, 500), metadata=about("Where to go on; taken from `Link: rel=next`."))


class IssuingQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    dry_run = Flag(
        load_default=False,
        metadata=about(
            "`true`: answer with the procedure, 200 in place of 201, and keep nothing. Its `id` is the one it"
            " would be issued under."
        ),
    )


class ExplanationQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    rule = Text(validate=length(1, 100), metadata=about("Only what this rule did, or why it did nothing."))
