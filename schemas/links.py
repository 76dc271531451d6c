"""What is sent and answered about signed links."""

from __future__ import annotations

from marshmallow import Schema, fields, validate

from schemas.answers import Answer, moment, text
from schemas.fields import Flag, Text, WholeNumber, about, between
from schemas.queries import UNKNOWN_PARAMETER
from schemas.refusing import Refusing

PROCEDURE, TIMELINE = "procedure", "timeline"

OPENED = {
    PROCEDURE: "the procedure as it was issued, as JSON",
    TIMELINE: "the drawing of its timeline, as SVG",
}
"""What a link may open."""

A_DAY_MIN, MOST_MIN = 1_440, 43_200


class LinkRequest(Refusing):
    opens = Text(
        required=True,
        validate=validate.OneOf(list(OPENED), error=f"must be {' or '.join(OPENED)}"),
        metadata=about(f"What it opens. {'; '.join(f'`{name}`: {says}' for name, says in OPENED.items())}."),
    )
    holds_min = WholeNumber(
        load_default=A_DAY_MIN,
        validate=between(1, MOST_MIN),
        metadata=about("For how many minutes; a day if left out, 30 days at most.", examples=[A_DAY_MIN]),
    )


class LinkQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    dry_run = Flag(
        load_default=False,
        metadata=about("`true`: answer as if the link were given, 200 in place of 201, without its `url`."),
    )


class LinkAnswer(Answer):
    procedure = text("The id of the procedure.")
    opens = text("What the link opens.")
    expires_at = moment("From then on it opens nothing.")
    url = text(
        "The address, from the root of the service: put before it the name by which others reach the"
        " service. It asks for no key, so give it to those alone who may see what it opens. Null in a dry"
        " run.",
        null=True,
        format="uri-reference",
    )
    dry_run = fields.Boolean(metadata=about("There, and true, where no link was given.", optional=True))


class LinksRevoked(Answer):
    revoked_at = moment("Links that were given before open nothing any more.")


LINKS = {
    "timeline": {"summary": "The drawing of the timeline, for a day", "value": {"opens": TIMELINE}},
    "procedure": {
        "summary": "The procedure, for a week",
        "value": {"opens": PROCEDURE, "holds_min": 10_080},
    },
}
