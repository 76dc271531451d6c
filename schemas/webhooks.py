"""What is sent about webhooks: where to tell of what."""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, ValidationError, validate

from schemas.fields import Digits, Text, Texts, Truth, WholeNumber, about, between, length, line
from schemas.queries import UNKNOWN_PARAMETER
from schemas.refusing import Refusing

EVENTS = {
    "procedure.issued": "a procedure was issued for a line item that did not have it yet",
    "procedure.superseded": (
        "a rule pack took force that gives a line item another procedure than its last one"
    ),
    "actuals.reported": "it was reported what stages of a procedure really took",
}
"""What a webhook can be told of."""

TEST = "webhook.test"
"""What a test send tells; nobody subscribes to it."""

STATES = {
    "waiting": "It is to be sent, for the first time or again, at `due_at`.",
    "delivered": "The receiver has answered with a status of 2xx.",
    "given_up": "Every attempt of the schedule has failed.",
    "stopped": "The webhook was paused, or had answered 410, before it was delivered.",
}
"""What has become of a delivery."""

PAUSED_BECAUSE = {
    "by_request": "somebody asked for it",
    "gone": "the receiver has answered 410",
}

LONGEST_URL = 2000
A_DAY_MIN, MOST_GRACE_MIN = 1_440, 10_080


def _once(events: list[str]) -> None:
    if len(set(events)) < len(events):
        raise ValidationError("names an event twice; name each once")


class WebhookRequest(Refusing):
    url = Text(
        required=True,
        validate=length(1, LONGEST_URL),
        metadata=about(
            "Where events are sent by POST: an address of https that others than this service's own network"
            " can reach, without name and password.",
            examples=["https://shop.example/stagewright"],
        ),
    )
    events = Texts(
        of=Text(validate=validate.OneOf(list(EVENTS), error=f"must be one of {', '.join(EVENTS)}")),
        required=True,
        validate=[
            validate.Length(1, len(EVENTS), error="must have {min} to {max} elements"),
            _once,
        ],
        metadata=about(
            f"What it is told of. {'; '.join(f'`{event}`: {says}' for event, says in EVENTS.items())}.",
            uniqueItems=True,
        ),
    )
    description = line(200, allow_none=True, metadata=about("What it is for, for people."))


class WebhookChange(WebhookRequest):
    paused = Truth(
        required=True,
        metadata=about(
            "`true`: nothing more is sent, and what waits is stopped. `false`: what happens from now on is"
            " sent, also where an answer 410 had stopped it."
        ),
    )


class RotationRequest(Refusing):
    grace_min = WholeNumber(
        load_default=A_DAY_MIN,
        validate=between(0, MOST_GRACE_MIN),
        metadata=about(
            "For how many minutes the secret before signs too; a day if left out, seven at most. 0: no secret"
            " from before signs anything more, as it should be where somebody else may know it."
        ),
    )


class DeliveriesQuery(Schema):
    error_messages = UNKNOWN_PARAMETER

    state = Text(
        validate=validate.OneOf(list(STATES), error=f"must be one of {', '.join(STATES)}"),
        metadata=about("Only deliveries that are in this state."),
    )
    limit = Digits(load_default=20, validate=between(1, 100), metadata=about("At most so many items."))
    cursor = Text(validate=length(1, 500), metadata=about("Where to go on; taken from `Link: rel=next`."))


URL = "https://shop.example/stagewright"
"""An invented address: nobody has a name that ends with `.example`."""

WEBHOOKS: dict[str, Any] = {
    "superseded": {
        "summary": "Told when other rules would give a line item another procedure",
        "value": {
            "url": URL,
            "events": ["procedure.superseded"],
            "description": "for the front desk",
        },
    },
    "everything": {"summary": "Told of everything", "value": {"url": URL, "events": [*EVENTS]}},
}

CHANGES: dict[str, Any] = {
    "pause": {
        "summary": "Nothing is sent for a while",
        "value": {"url": URL, "events": ["procedure.superseded"], "description": None, "paused": True},
    },
    "resume": {
        "summary": "Sent again, to another address",
        "value": {"url": f"{URL}/2", "events": [*EVENTS], "paused": False},
    },
}

ROTATIONS: dict[str, Any] = {
    "in_a_day": {"summary": "Both secrets sign for a day", "value": {"grace_min": A_DAY_MIN}},
    "at_once": {"summary": "The secret may be known to others", "value": {"grace_min": 0}},
}
