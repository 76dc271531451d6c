"""The `webhooks` of the OpenAPI document: what a receiver is sent, and what it is to answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from apispec import APISpec

from api.answers import JSON
from api.events.payloads import examples
from schemas.webhooks import EVENTS, TEST
from schemas.webhooks_events import PAYLOADS

Json = dict[str, Any]

_HAPPENS = {**EVENTS, TEST: "somebody asked for it by POST /v1/webhooks/{webhook_id}/test"}

_ABOUT = (
    "Sent when {happens}.\n\nVerify it before anything else, keep the `webhook-id`, and answer within the"
    " time that is published; do the work later. The same `webhook-id` may come more than once, and events in"
    " another order than they happened: docs/webhooks.md tells how to verify, and when it is sent again."
)

_HEADERS = {
    "webhook-id": (
        "Names the event: the same at every attempt, and at every webhook that is told of it.",
        {"type": "string", "pattern": "^ev_[0-9a-f]{32}$"},
    ),
    "webhook-timestamp": (
        "When this attempt was made, in seconds since 1970-01-01T00:00:00Z.",
        {"type": "string", "pattern": "^[0-9]+$"},
    ),
    "webhook-signature": (
        "`v1,` and the HMAC-SHA256, in base64, of `{webhook-id}.{webhook-timestamp}.{body}`; for a"
        " while after a rotation several of them with a space between, of which one has to be right.",
        {"type": "string", "pattern": "^v1,[A-Za-z0-9+/]{43}=( v1,[A-Za-z0-9+/]{43}=){0,4}$"},
    ),
}

_ANSWERS = {
    "2XX": "It has arrived; nothing of the answer is read but its status.",
    "410": "Nothing more is to be sent here: the webhook is paused.",
    "default": "It has not arrived, and is sent again by the schedule. No redirection is followed.",
}


def describe_events(spec: APISpec) -> Json:
    """The section `webhooks`; adds the schemas of the payloads to `spec`."""
    return dict(_described(spec))


def _described(spec: APISpec) -> Iterator[tuple[str, Json]]:
    shown = examples()
    for event, schema in PAYLOADS.items():
        name = schema.__name__
        spec.components.schema(name, schema=schema)
        content = {"schema": {"$ref": f"#/components/schemas/{name}"}, "example": shown[event]}
        yield (
            event,
            {
                "post": {
                    "operationId": f"receive_{event.replace('.', '_')}",
                    "tags": ["webhooks"],
                    "summary": f"Be told: {event}",
                    "description": _ABOUT.format(happens=_HAPPENS[event]),
                    "parameters": [_header(*each) for each in _HEADERS.items()],
                    "requestBody": {"required": True, "content": {JSON: content}},
                    "responses": {status: {"description": says} for status, says in _ANSWERS.items()},
                }
            },
        )


def _header(name: str, told: tuple[str, Json]) -> Json:
    says, schema = told
    return {"in": "header", "name": name, "description": says, "required": True, "schema": schema}
