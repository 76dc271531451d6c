"""What is sent about an event: small, ids and where to read more, nothing about people."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from schemas.procedure.document import links_of
from storage.webhook_records import ISSUED, REPORTED, SUPERSEDED, TEST, Event

Payload = dict[str, Any]


def body_of(event: Event, webhook_id: str) -> str:
    """The payload of an event as JSON, the same for every attempt; plain ASCII."""
    return json.dumps(payload_of(event, webhook_id), separators=(",", ":"))


def payload_of(event: Event, webhook_id: str) -> Payload:
    """`type`, `timestamp` of what happened, and `data`, as Standard Webhooks has them."""
    at = event.created_at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return {"type": event.type, "timestamp": at, "data": _data(event, webhook_id)}


def examples() -> dict[str, Payload]:
    """An invented payload of every kind of event."""
    at = datetime(2027, 3, 2, 8, 15, tzinfo=UTC)
    reference, procedure_id = "RO-20417-3", f"pr-{'3f' * 16}"
    events = [
        Event(f"ev_{'7a' * 16}", ISSUED, at, reference, procedure_id),
        Event(f"ev_{'7b' * 16}", SUPERSEDED, at, reference, procedure_id, f"sha256:{'9c' * 32}"),
        Event(f"ev_{'7c' * 16}", REPORTED, at, reference, procedure_id),
        Event(f"ev_{'7d' * 16}", TEST, at),
    ]
    return {event.type: payload_of(event, f"wh_{'5e' * 16}") for event in events}


def _data(event: Event, webhook_id: str) -> Payload:
    """Links begin at the root of the service, which does not know under which name it is reached."""
    if event.procedure_id is None:
        return {"webhook_id": webhook_id}
    place = links_of(event.procedure_id)["self"]
    data: Payload = {"line_item": event.reference, "procedure_id": event.procedure_id}
    links = {"procedure": place}
    if event.type == SUPERSEDED:
        data["pack_digest"] = event.pack_digest
    if event.type == REPORTED:
        links["actuals"] = f"{place}/actuals"
    return {**data, "links": links}
