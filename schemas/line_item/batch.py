"""The body of a batch, and what it is answered with."""

from __future__ import annotations

from typing import Any

from marshmallow import fields, validate

from schemas.answers import Answer
from schemas.examples import FULL, MINIMAL
from schemas.fields import Text, about, length
from schemas.line_item.body import ProcedureRequest
from schemas.refusing import Refusing

MOST_ITEMS = 500

KEY = "idempotency_key"

_PROCEDURE = "#/components/schemas/ProcedureAnswer"
_PROBLEM = "#/components/schemas/ProblemAnswer"

BATCHES = {
    "two": {
        "summary": "Two line items; the second with a key of its own",
        "value": {
            "line_items": [
                MINIMAL,
                {**FULL, "line_item": {"reference": "RO-20417-4"}, KEY: "RO-20417-4/1"},
            ]
        },
    }
}


class BatchItem(ProcedureRequest):
    idempotency_key = Text(
        allow_none=True,
        pattern="[ -~]+",
        form="printable ASCII",
        validate=length(1, 255),
        metadata=about(
            "As `Idempotency-Key` of `POST /v1/procedures`: the line item sent again with it, alone or in a"
            " batch, is answered as the first time."
        ),
    )


class LineItems(fields.List[Any]):
    """A list that is described element by element, and taken as it comes: each is looked at by itself."""

    default_error_messages = {  # noqa: RUF012
        "required": "is missing",
        "null": "must not be null",
        "invalid": "must be a list of line items",
    }

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        return value


class BatchRequest(Refusing):
    line_items = LineItems(
        fields.Nested(BatchItem),
        required=True,
        validate=validate.Length(1, MOST_ITEMS, error="must have {min} to {max} elements"),
        metadata=about("Line items, each as in `POST /v1/procedures`."),
    )


class BatchAnswer(Answer):
    results = fields.List(
        fields.Raw(metadata={"anyOf": [{"$ref": _PROCEDURE}, {"$ref": _PROBLEM}]}),
        metadata=about("One for every line item, in their order: its procedure, or a problem."),
    )
