"""Webhooks and deliveries of the shop that asks, by their ids."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from flask import current_app

from api.events.addresses import WEBHOOK_NETWORKS, AddressRefused, refuse_url
from api.preconditions import changed_meanwhile
from api.problem_types import BODY_REFUSED, DELIVERY_UNKNOWN, WEBHOOK_PAUSED, WEBHOOK_UNKNOWN
from api.problems import Problem, refused
from api.shops import current_shop
from api.snapshot import store_in_use
from schemas.faults import Fault
from storage.faults import DeliveryUnknown, WebhookChanged, WebhookDisabled, WebhookUnknown
from storage.webhook_records import Delivery, Webhook

# Not every text can be looked for in every database.
_WEBHOOK_ID, _EVENT_ID = re.compile(r"wh_[0-9a-f]{32}"), re.compile(r"ev_[0-9a-f]{32}")
_SHOWN = 60

READING = "GET /v1/webhooks/{webhook_id}"
"""The call whose `ETag` a change builds on."""

WEBHOOK = {
    "in": "path",
    "name": "webhook_id",
    "description": "The `id` of the webhook.",
    "schema": {"type": "string", "minLength": 1},
}
DELIVERY = {
    "in": "path",
    "name": "delivery_id",
    "description": "The `id` of the delivery: the `webhook-id` that the receiver saw.",
    "schema": {"type": "string", "minLength": 1},
}


def kept_webhook(webhook_id: str) -> Webhook:
    """A webhook of the shop. Raises Problem where there is none, or only another shop has it."""
    could_be = _WEBHOOK_ID.fullmatch(webhook_id)
    found = store_in_use().webhooks.find(current_shop(), webhook_id) if could_be else None
    if found is None:
        raise _no_webhook(webhook_id)
    return found


def kept_delivery(webhook_id: str, delivery_id: str) -> Delivery:
    """A delivery with its attempts. Raises Problem where there is none, or not any more."""
    webhook = kept_webhook(webhook_id)
    could_be = _EVENT_ID.fullmatch(delivery_id)
    found = store_in_use().deliveries.find(current_shop(), webhook.id, delivery_id) if could_be else None
    if found is None:
        raise _no_delivery(delivery_id)
    return found


@contextmanager
def refusals_told(webhook_id: str, delivery_id: str = "") -> Iterator[None]:
    """Around work of the store on these: raises Problem for what it refuses.

    Between the look at them and the work on them somebody else may have changed or removed them.
    """
    try:
        yield
    except WebhookUnknown as error:
        raise _no_webhook(webhook_id) from error
    except DeliveryUnknown as error:
        raise _no_delivery(delivery_id) from error
    except WebhookDisabled as error:
        told = "the webhook is paused; let it go on by PUT with paused: false first"
        raise Problem(WEBHOOK_PAUSED, told) from error
    except WebhookChanged as error:
        raise changed_meanwhile(READING) from error


def _no_webhook(webhook_id: str) -> Problem:
    """The same whether there never was one, or another shop has it."""
    return Problem(WEBHOOK_UNKNOWN, f"no webhook has the id '{webhook_id[:_SHOWN]}'")


def _no_delivery(delivery_id: str) -> Problem:
    """Likewise, also for one that is no longer kept."""
    return Problem(DELIVERY_UNKNOWN, f"the webhook has no delivery '{delivery_id[:_SHOWN]}'")


def refuse_address(url: str) -> None:
    """Raises Problem for an address that nothing would be sent to: the guard of the sender says so."""
    try:
        refuse_url(url, current_app.config[WEBHOOK_NETWORKS])
    except AddressRefused as error:
        raise refused(BODY_REFUSED, [Fault("/url", str(error), url)]) from error
