"""What the members of answers about webhooks mean."""

from __future__ import annotations

from schemas.answers import Answer, many, moment, one, text, texts, truth, whole
from schemas.webhooks import EVENTS, PAUSED_BECAUSE, STATES, TEST


class WebhookLinks(Answer):
    self = text("This webhook.", format="uri-reference")
    deliveries = text("What was sent to it, and what is to be.", format="uri-reference")


class WebhookAnswer(Answer):
    id = text("The webhook's id.")
    url = text("Where events are sent.")
    events = texts("What it is told of.")
    description = text("What it is for.", null=True)
    created_at = moment("When it was made.")
    paused = truth("Whether nothing is sent to it.")
    paused_at = moment("Since when.", null=True)
    paused_because = text(
        "Why: " + ", ".join(f"`{name}`: {says}" for name, says in PAUSED_BECAUSE.items()) + ".",
        null=True,
        enum=[*PAUSED_BECAUSE, None],
    )
    previous_secret_until = moment(
        "Until then what is sent is signed with a secret from before a rotation too; null: with none.",
        null=True,
    )
    links = one(WebhookLinks, "Where to go on.")


class WebhookWithSecret(WebhookAnswer):
    secret = text(
        "What events are signed with, `whsec_…`. It is shown this once and not kept with the answer: where an"
        " earlier answer is given again for its `Idempotency-Key`, it is null.",
        null=True,
    )


class WebhookList(Answer):
    items = many(WebhookAnswer, "Every webhook of the shop, in the order they were made.")


class DeliveryLinks(Answer):
    self = text("This delivery, with its attempts.", format="uri-reference")
    webhook = text("The webhook.", format="uri-reference")
    procedure = text("The procedure, where the event is about one.", null=True, format="uri-reference")


class DeliveryListed(Answer):
    id = text("The event's id; the receiver sees it as `webhook-id`, the same at every attempt.")
    event = text("What happened.", enum=[*EVENTS, TEST])
    state = text(" ".join(f"`{state}`: {says}" for state, says in STATES.items()), enum=[*STATES])
    created_at = moment("When it happened.")
    due_at = moment("When it is sent next; null where it is not to be.", null=True)
    ended_at = moment("When its state became what it is; null while it waits.", null=True)
    attempt_count = whole("How often it was sent.")
    line_item = text("The reference of the line item, where the event is about one.", null=True)
    links = one(DeliveryLinks, "Where to go on.")


class AttemptMade(Answer):
    at = moment("When it was sent.")
    duration_ms = whole("How long it took, in milliseconds; null while it is under way.", null=True)
    status = whole("The status that the receiver answered with; null where there was none.", null=True)
    reason = text("How it went, in words; null while it is under way.", null=True)


class DeliveryAnswer(DeliveryListed):
    attempts = many(AttemptMade, "Every attempt, the oldest first.")


class DeliveryList(Answer):
    items = many(DeliveryListed, "Deliveries, the newest event first.")


class Replayed(Answer):
    deliveries = whole("How many deliveries are sent again.")
