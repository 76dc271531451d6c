"""What is sent about rule packs: the files of one, and which is to be in force."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema, ValidationError, fields

from schemas.fields import ANY_TEXT, Digits, Moment, Text, about, between, length
from schemas.queries import UNKNOWN_PARAMETER
from schemas.refusing import Refusing

LONGEST_DIGEST = 80


class Files(fields.Field[dict[str, str]]):
    """Texts of files by path."""

    default_error_messages = {  # noqa: RUF012
        "required": "is missing",
        "null": "must not be null",
        "invalid": "must be an object with the text of each file by its path",
    }

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        text = {"type": "string", "pattern": f"^{ANY_TEXT}$"}
        form = {"type": "object", "additionalProperties": text}
        self.metadata = {**self.metadata, **form}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> dict[str, str]:
        if not isinstance(value, Mapping):
            raise self.make_error("invalid")
        faults = {path: ["must be text"] for path, text in value.items() if not isinstance(text, str)}
        if faults:
            raise ValidationError(faults)
        return dict(value)


class PackUpload(Refusing):
    files = Files(
        required=True,
        metadata=about(
            "The texts of a pack by path. An overlay says in `extends` which pack it is laid on: the one that"
            " the service has in force."
        ),
    )


class ActivationRequest(Refusing):
    digest = Text(
        required=True,
        allow_none=True,
        validate=length(1, LONGEST_DIGEST),
        metadata=about(
            "The `digest` of a pack that the shop keeps; null: the shop works by the pack of the service,"
            " whichever that is. The shop `local`, which runs the service, cannot write null."
        ),
    )
    effective_from = Moment(
        allow_none=True,
        metadata=about("From when on the pack is to be in force; left out or null: from now on."),
    )


class PacksQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    limit = Digits(load_default=20, validate=between(1, 100), metadata=about("At most so many items."))
    cursor = Text(validate=length(1, 500), metadata=about("Where to go on; taken from `Link: rel=next`."))


class ImpactQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    limit = Digits(
        load_default=50, validate=between(1, 500), metadata=about("At most so many different changes.")
    )


class ActiveQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    as_of = Moment(metadata=about("Which pack is, was or will be in force then, as decided so far."))


OVERLAY: dict[str, Any] = {
    "files": {
        "pack.yaml": (
            "pack:\n"
            "  name: house-rules\n"
            "  version: 1.0.0\n"
            "  title: House rules of an invented shop\n"
            "  effective_from: 2026-01-01\n"
            "  effective_until: null\n"
            "  extends: base\n"
        ),
        "changes.yaml": (
            "amend:\n"
            "  stages:\n"
            "    adhesion-promoter:\n"
            "      window: {not_after_min: 20}\n"
            "      source: house rule of the invented shop, whose booth is warm and windy\n"
        ),
        "cases/promoter.yaml": (
            "cases:\n"
            "  - name: the promoter's window closes after 20 minutes here\n"
            "    given: {material: TPO, condition: replacement, damage_type: none}\n"
            "    expect: {parameters: {adhesion-promoter.not_after_min: 20}}\n"
        ),
    }
}
"""An overlay to try the service with; shop and house rule are invented."""

PACKS = {"overlay": {"summary": "A shop's house rule, laid on the base pack", "value": OVERLAY}}

ACTIVATIONS = {
    "now": {"summary": "From now on", "value": {"digest": "0" * 64}},
    "follow": {"summary": "By the pack of the service again", "value": {"digest": None}},
    "later": {
        "summary": "From a moment on",
        "value": {"digest": "0" * 64, "effective_from": "2027-03-02T00:00:00-06:00"},
    },
}
