"""Webhooks: where a shop is told of what happens."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from flask import Response, url_for

from api.answers import answer
from api.idempotency.repeating import kept_instead
from api.keys.checking import caller
from api.keys.scopes import ADMIN
from api.nouns import ETAG, Noun, header
from api.preconditions import if_match, refuse_unseen
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PRECONDITION_FAILED,
    PRECONDITION_REQUIRED,
    STORE_UNAVAILABLE,
    TOO_MANY_WEBHOOKS,
    WEBHOOK_UNKNOWN,
)
from api.problems import Problem
from api.shops import current_shop
from api.snapshot import store_in_use
from api.webhooks.documents import etag_of, webhook_document
from api.webhooks.kept import READING, WEBHOOK, kept_webhook, refusals_told, refuse_address
from schemas.webhooks import CHANGES, ROTATIONS, WEBHOOKS, RotationRequest, WebhookChange, WebhookRequest
from schemas.webhooks_answer import WebhookAnswer, WebhookList, WebhookWithSecret
from storage.faults import TooManyWebhooks
from storage.webhook_records import NewWebhook, Webhook

IF_MATCH = if_match(READING)
LOCATION = header("Location", "The webhook.")

webhooks = Noun("webhooks", __name__, url_prefix="/v1/webhooks", scope=ADMIN, description=__doc__)


@webhooks.at("")
@webhooks.gives(200, WebhookList, "Every webhook of the shop.", headers=ETAG)
@webhooks.refuses(STORE_UNAVAILABLE)
def list_webhooks() -> Response:
    """List the webhooks of the shop."""
    found = store_in_use().webhooks.all(current_shop())
    return answer({"items": [webhook_document(each) for each in found]})


@webhooks.at("", "POST")
@webhooks.repeatable
@webhooks.takes(WebhookRequest, WEBHOOKS)
@webhooks.gives(201, WebhookWithSecret, "It is told from now on.", headers=ETAG | LOCATION)
@webhooks.refuses(
    MALFORMED_JSON,
    TOO_MANY_WEBHOOKS,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    STORE_UNAVAILABLE,
)
def create_webhook(body: dict[str, Any]) -> Response:
    """Make a webhook: an address that is told of what happens from now on.

    The answer shows the secret that events are signed with, this once. Where the answer is lost, read the
    list, and make a new secret.
    """
    refuse_address(body["url"])
    held, by = store_in_use().webhooks, caller()
    try:
        made = held.create(by.shop, body["url"], body["events"], body.get("description"), by)
    except TooManyWebhooks as error:
        raise Problem(TOO_MANY_WEBHOOKS, str(error)) from error
    return _with_secret(made, 201, Location=url_for("webhooks.read_webhook", webhook_id=made.webhook.id))


@webhooks.at("/<webhook_id>", parameters=[WEBHOOK])
@webhooks.gives(200, WebhookAnswer, "The webhook.", headers=ETAG)
@webhooks.refuses(WEBHOOK_UNKNOWN, STORE_UNAVAILABLE)
def read_webhook(webhook_id: str) -> Response:
    """Read a webhook; its secret is not shown."""
    return _answered(kept_webhook(webhook_id))


@webhooks.at("/<webhook_id>", "PUT", parameters=[WEBHOOK])
@webhooks.needs(IF_MATCH)
@webhooks.takes(WebhookChange, CHANGES)
@webhooks.gives(200, WebhookAnswer, "The webhook as it is now.", headers=ETAG)
@webhooks.refuses(
    MALFORMED_JSON,
    WEBHOOK_UNKNOWN,
    PRECONDITION_FAILED,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    PRECONDITION_REQUIRED,
    STORE_UNAVAILABLE,
)
def change_webhook(body: dict[str, Any], webhook_id: str) -> Response:
    """Say anew where and of what to tell; pause it, or let it go on, also after an answer 410.

    What happened while it was paused is not sent later, and what waited then is stopped: replay it.
    """
    seen = _seen(webhook_id)
    if body["url"] != seen.url:
        refuse_address(body["url"])
    # What stays as it is keeps its reason.
    enabled = None if body["paused"] != seen.enabled else not body["paused"]
    with refusals_told(webhook_id):
        changed = store_in_use().webhooks.change(
            current_shop(),
            seen.id,
            url=body["url"],
            events=body["events"],
            description=body.get("description") or "",
            enabled=enabled,
            by=caller(),
            seen=seen,
        )
    return _answered(changed)


@webhooks.at("/<webhook_id>", "DELETE", parameters=[WEBHOOK])
@webhooks.needs(IF_MATCH)
@webhooks.gives_nothing("It is gone, with all that was and was to be sent to it.")
@webhooks.refuses(WEBHOOK_UNKNOWN, PRECONDITION_FAILED, PRECONDITION_REQUIRED, STORE_UNAVAILABLE)
def delete_webhook(webhook_id: str) -> Response:
    """Remove a webhook, what waits for it, and the log of its deliveries."""
    seen = _seen(webhook_id)
    with refusals_told(webhook_id):
        store_in_use().webhooks.remove(current_shop(), seen.id, by=caller(), seen=seen)
    return Response(status=204)


@webhooks.at("/<webhook_id>/secret", "POST", parameters=[WEBHOOK])
@webhooks.repeatable
@webhooks.takes(RotationRequest, ROTATIONS)
@webhooks.gives(200, WebhookWithSecret, "The webhook with its new secret.", headers=ETAG)
@webhooks.refuses(
    MALFORMED_JSON,
    WEBHOOK_UNKNOWN,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    STORE_UNAVAILABLE,
)
def rotate_webhook_secret(body: dict[str, Any], webhook_id: str) -> Response:
    """Make a new secret, and show it this once.

    What is sent is signed with the one before as well for so many minutes: change the receiver in between.
    A secret from an earlier rotation, of four at most, signs until its own end, unless `grace_min` is 0.
    """
    webhook, by = kept_webhook(webhook_id), caller()
    grace = timedelta(minutes=body["grace_min"])
    with refusals_told(webhook_id):
        made = store_in_use().webhooks.rotate(by.shop, webhook.id, grace, by)
    return _with_secret(made, 200)


def _seen(webhook_id: str) -> Webhook:
    """The webhook as it is. Raises Problem where this request does not say that it has seen it so."""
    webhook = kept_webhook(webhook_id)
    refuse_unseen(etag_of(webhook_document(webhook)), READING)
    return webhook


def _answered(webhook: Webhook) -> Response:
    document = webhook_document(webhook)
    return answer(document, etag=etag_of(document))


def _with_secret(made: NewWebhook, status: int, **headers: str) -> Response:
    """For the caller alone, and this once: what is kept for the key of the request is without the secret."""
    document = webhook_document(made.webhook)
    etag = etag_of(document)
    kept, shown = (answer({**document, "secret": each}, status, etag) for each in (None, made.secret))
    kept.headers.extend(headers)
    shown.headers.extend(headers)
    kept_instead(kept)
    shown.cache_control.no_store = True
    return shown
