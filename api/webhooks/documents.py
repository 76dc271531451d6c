"""Webhooks and deliveries as JSON."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from flask import url_for

from schemas.figures import moment
from storage.records import canonical_text
from storage.webhook_records import Attempt, Delivery, Webhook

Document = dict[str, Any]


def webhook_document(webhook: Webhook) -> Document:
    """A webhook, without its secret."""
    return {
        "id": webhook.id,
        "url": webhook.url,
        "events": list(webhook.events),
        "description": webhook.description,
        "created_at": moment(webhook.created_at),
        "paused": not webhook.enabled,
        "paused_at": moment(webhook.disabled_at),
        "paused_because": webhook.disabled_because,
        "previous_secret_until": moment(webhook.previous_secret_until),
        "links": {
            "self": url_for("webhooks.read_webhook", webhook_id=webhook.id),
            "deliveries": url_for("deliveries.list_deliveries", webhook_id=webhook.id),
        },
    }


def etag_of(document: Document) -> str:
    """The entity tag of a webhook, by what is told of it."""
    return sha256(canonical_text(document).encode()).hexdigest()[:32]


def delivery_listed(delivery: Delivery) -> Document:
    """A delivery without its attempts."""
    return {
        "id": delivery.event_id,
        "event": delivery.event,
        "state": delivery.state.value,
        "created_at": moment(delivery.created_at),
        "due_at": moment(delivery.due_at),
        "ended_at": moment(delivery.ended_at),
        "attempt_count": delivery.attempt_count,
        "line_item": delivery.reference,
        "links": {
            "self": delivery_address(delivery),
            "webhook": url_for("webhooks.read_webhook", webhook_id=delivery.webhook_id),
            "procedure": _procedure(delivery.procedure_id),
        },
    }


def delivery_document(delivery: Delivery) -> Document:
    """A delivery with its attempts."""
    return {**delivery_listed(delivery), "attempts": [_attempt(each) for each in delivery.attempts]}


def delivery_address(delivery: Delivery) -> str:
    """Where a delivery is read."""
    return url_for("deliveries.read_delivery", webhook_id=delivery.webhook_id, delivery_id=delivery.event_id)


def _procedure(procedure_id: str | None) -> str | None:
    return procedure_id and url_for("procedures.read_procedure", procedure_id=procedure_id)


def _attempt(attempt: Attempt) -> Document:
    return {
        "at": moment(attempt.at),
        "duration_ms": attempt.duration_ms,
        "status": attempt.status,
        "reason": attempt.reason,
    }
