"""Deliveries: how telling a webhook of what happened went; tried, looked up and sent again."""

from __future__ import annotations

from functools import partial
from typing import Any

from flask import Response

from api.answers import answer
from api.keys.scopes import ADMIN
from api.nouns import ETAG, Noun, header
from api.pages import LINK, page_answer
from api.problem_types import (
    DELIVERY_UNKNOWN,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
    WEBHOOK_PAUSED,
    WEBHOOK_UNKNOWN,
)
from api.shops import current_shop
from api.snapshot import store_in_use
from api.webhooks.documents import delivery_address, delivery_document, delivery_listed
from api.webhooks.kept import DELIVERY, WEBHOOK, kept_delivery, kept_webhook, refusals_told
from schemas.webhooks import DeliveriesQuery
from schemas.webhooks_answer import DeliveryAnswer, DeliveryList, Replayed
from storage.webhook_records import Delivery, DeliveryState

LOCATION = header("Location", "Where its outcome is read.")

deliveries = Noun("deliveries", __name__, url_prefix="/v1/webhooks", scope=ADMIN, description=__doc__)


@deliveries.at("/<webhook_id>/test", "POST", parameters=[WEBHOOK])
@deliveries.repeatable
@deliveries.gives(202, DeliveryAnswer, "It is sent; read its outcome there.", headers=LOCATION)
@deliveries.refuses(WEBHOOK_UNKNOWN, WEBHOOK_PAUSED, STORE_UNAVAILABLE)
def test_webhook(webhook_id: str) -> Response:
    """Send the event `webhook.test`, whatever the webhook is told of else, in one attempt."""
    webhook = kept_webhook(webhook_id)
    with refusals_told(webhook_id):
        return _accepted(store_in_use().webhooks.test(current_shop(), webhook.id))


@deliveries.at("/<webhook_id>/deliveries", parameters=[WEBHOOK])
@deliveries.asks(DeliveriesQuery)
@deliveries.gives(200, DeliveryList, "Deliveries, the newest event first.", headers=ETAG | LINK)
@deliveries.refuses(WEBHOOK_UNKNOWN, QUERY_REFUSED, STORE_UNAVAILABLE)
def list_deliveries(query: dict[str, Any], webhook_id: str) -> Response:
    """List what was sent to a webhook, and what is to be; 30 days after its end a delivery is forgotten."""
    webhook = kept_webhook(webhook_id)
    state = DeliveryState(query["state"]) if "state" in query else None
    read = partial(store_in_use().deliveries.of_webhook, current_shop(), webhook.id, state=state)
    return page_answer(
        "deliveries.list_deliveries", {**query, "webhook_id": webhook.id}, read, delivery_listed
    )


@deliveries.at("/<webhook_id>/deliveries/<delivery_id>", parameters=[WEBHOOK, DELIVERY])
@deliveries.gives(200, DeliveryAnswer, "The delivery, with every attempt.", headers=ETAG)
@deliveries.refuses(WEBHOOK_UNKNOWN, DELIVERY_UNKNOWN, STORE_UNAVAILABLE)
def read_delivery(webhook_id: str, delivery_id: str) -> Response:
    """Read what has become of telling a webhook of one event."""
    return answer(delivery_document(kept_delivery(webhook_id, delivery_id)))


@deliveries.at("/<webhook_id>/deliveries/<delivery_id>/replay", "POST", parameters=[WEBHOOK, DELIVERY])
@deliveries.repeatable
@deliveries.gives(202, DeliveryAnswer, "It is sent again.", headers=LOCATION)
@deliveries.refuses(WEBHOOK_UNKNOWN, DELIVERY_UNKNOWN, WEBHOOK_PAUSED, STORE_UNAVAILABLE)
def replay_delivery(webhook_id: str, delivery_id: str) -> Response:
    """Send an event again, at once and by a schedule that begins anew, also one that was delivered.

    The receiver sees the same `webhook-id`, and its answer counts as it would the first time.
    """
    delivery = kept_delivery(webhook_id, delivery_id)
    with refusals_told(webhook_id, delivery_id):
        again = store_in_use().deliveries.replay(current_shop(), delivery.webhook_id, delivery.event_id)
    return _accepted(again)


@deliveries.at("/<webhook_id>/replay", "POST", parameters=[WEBHOOK])
@deliveries.repeatable
@deliveries.gives(202, Replayed, "They are sent again.")
@deliveries.refuses(WEBHOOK_UNKNOWN, WEBHOOK_PAUSED, STORE_UNAVAILABLE)
def replay_deliveries(webhook_id: str) -> Response:
    """Send again whatever was given up or stopped, each with its `webhook-id`; of use after an outage."""
    webhook = kept_webhook(webhook_id)
    with refusals_told(webhook_id):
        count = store_in_use().deliveries.replay_ended(current_shop(), webhook.id)
    return answer({"deliveries": count}, 202)


def _accepted(delivery: Delivery) -> Response:
    response = answer(delivery_document(delivery), 202)
    response.location = delivery_address(delivery)
    return response
