"""What the driver of a client has to answer, as an OpenAPI document."""

from __future__ import annotations

from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema

from api.answers import JSON
from api.openapi import as_yaml
from schemas.conformance import (
    ActualsToReport,
    Claims,
    Handled,
    LineItemToCreate,
    Outcome,
    ProcedureToRead,
    ReferenceToFind,
    Settings,
)

Json = dict[str, Any]

_ABOUT = """\
A driver is the small HTTP server that an integrator puts before their client, so that the conformance kit of
stagewright can ask it to do something now. Every call is answered once the client is done, with 200 and JSON,
whatever has become of it; 500 says that the client has crashed. The kit makes one call at a time.
"""

_CALLS: dict[str, tuple[str, type[Schema], type[Schema]]] = {
    "/configure": (
        "Make a new client with these settings. Comes once, before all else.",
        Settings,
        Claims,
    ),
    "/create": ("Send a line item to `POST /v1/procedures`.", LineItemToCreate, Outcome),
    "/read": ("Read a procedure by `GET /v1/procedures/{id}`.", ProcedureToRead, Outcome),
    "/find": (
        "Find every procedure of a line item by `GET /v1/procedures?line_item=…`.",
        ReferenceToFind,
        Outcome,
    ),
    "/report": (
        "Report what stages took by `POST /v1/procedures/{id}/actuals`.",
        ActualsToReport,
        Outcome,
    ),
}


def contract_yaml() -> str:
    """The document, as `stagewright conformance --contract` writes it."""
    return as_yaml(contract())


def contract() -> Json:
    """The document as plain JSON values."""
    spec = APISpec(
        "The driver of a client",
        "1.0.0",
        "3.1.0",
        plugins=[MarshmallowPlugin()],
        info={"description": _ABOUT},
    )
    for path, (says, asked, told) in _CALLS.items():
        body = {"required": True, "content": {JSON: {"schema": asked}}}
        spec.path(path, operations={"post": _operation(path, says, told) | {"requestBody": body}})
    says = "Tell which webhook deliveries the client has acted on since it was configured."
    spec.path("/handled", operations={"get": _operation("/handled", says, Handled)})
    spec.path("/webhook", operations={"post": _WEBHOOK})
    document: Json = spec.to_dict()
    return {member: document[member] for member in ("openapi", "info", "paths", "components")}


def _operation(path: str, says: str, told: type[Schema]) -> Json:
    answer = {"description": "What has become of it.", "content": {JSON: {"schema": told}}}
    return {"operationId": path.strip("/"), "summary": says, "responses": {"200": answer}}


_WEBHOOK = {
    "operationId": "webhook",
    "summary": "Take a webhook delivery, as the client does in earnest: verify, then act on it.",
    "parameters": [
        {"in": "header", "name": name, "schema": {"type": "string"}}
        for name in ("webhook-id", "webhook-timestamp", "webhook-signature")
    ],
    "requestBody": {"required": True, "content": {JSON: {"schema": {"type": "object"}}}},
    "responses": {"2XX": {"description": "It is taken."}, "4XX": {"description": "It is refused."}},
}
