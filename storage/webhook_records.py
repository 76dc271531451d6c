"""Webhooks: who is told of which events, and how telling them went."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import Enum
from uuid import uuid4

from storage.faults import EventsRefused

ISSUED, SUPERSEDED = "procedure.issued", "procedure.superseded"
REPORTED, TEST = "actuals.reported", "webhook.test"

EVENTS = {
    ISSUED: "a procedure was issued for a line item that did not have it yet",
    SUPERSEDED: "a rule pack took force that gives a line item another procedure than its last one",
    REPORTED: "it was reported what stages of a procedure really took",
}
"""What a webhook may be told of; of TEST it is told when it is asked for."""

GONE, BY_REQUEST = "gone", "by_request"
"""Why a webhook is disabled: its endpoint answered 410, or its shop wanted it."""


class DeliveryState(Enum):
    """What has become of telling a webhook of an event. Only what waits is sent."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    GIVEN_UP = "given_up"
    STOPPED = "stopped"


@dataclass(frozen=True)
class Webhook:
    """Where a shop is told of events. `disabled_at` and `disabled_because` are there together.

    Until `previous_secret_until`, what is sent is signed with secrets from before as well. `tried_at` is when
    something was sent last.
    """

    id: str
    shop: str
    url: str
    events: tuple[str, ...]
    description: str | None
    created_at: datetime
    disabled_at: datetime | None = None
    disabled_because: str | None = None
    previous_secret_until: datetime | None = None
    tried_at: datetime | None = None

    @property
    def enabled(self) -> bool:
        """Whether anything is sent to it."""
        return self.disabled_at is None

    def is_as(self, seen: Webhook) -> bool:
        """Whether it is as somebody has seen it; that something was sent since makes no difference."""
        return replace(self, tried_at=None) == replace(seen, tried_at=None)


@dataclass(frozen=True)
class NewWebhook:
    """A webhook with the secret that was made for it, which is never shown again."""

    webhook: Webhook
    secret: str = field(repr=False)


@dataclass(frozen=True)
class Attempt:
    """One time that something was sent; `status` where an answer came.

    `reason` tells in words of our own how it went, and never quotes the endpoint; None while it is under way.
    """

    at: datetime
    duration_ms: int | None
    status: int | None
    reason: str | None


@dataclass(frozen=True)
class Delivery:
    """Telling one webhook of one event. `event_id` is the `webhook-id` of every attempt.

    `due_at` is that of the next attempt while it waits; `attempts` are in order, and empty in lists.
    """

    event_id: str
    event: str
    webhook_id: str
    state: DeliveryState
    created_at: datetime
    due_at: datetime | None
    ended_at: datetime | None
    reference: str | None
    procedure_id: str | None
    attempt_count: int
    attempts: tuple[Attempt, ...] = ()


@dataclass(frozen=True)
class Event:
    """What happened. `pack_digest` is of the pack that superseded a procedure."""

    id: str
    type: str
    created_at: datetime
    reference: str | None = None
    procedure_id: str | None = None
    pack_digest: str | None = None


@dataclass(frozen=True)
class Claim:
    """A delivery that whoever holds the `token` is to make now; `tries` counts it.

    `secrets` are those to sign with, the present one first. `attempt` is the number of its row in the log.
    """

    shop: str
    webhook_id: str
    event: Event
    url: str
    secrets: tuple[str, ...] = field(repr=False)
    tries: int
    token: str
    attempt: int


def new_webhook_id() -> str:
    """An id that nobody guesses."""
    return f"wh_{uuid4().hex}"


def new_event_id() -> str:
    """Likewise; the one that the databases make themselves looks the same."""
    return f"ev_{uuid4().hex}"


def events_of(named: Iterable[str]) -> tuple[str, ...]:
    """Each once, in the order of EVENTS. Raises EventsRefused for none, and for one that there is not."""
    wanted = set(named)
    unknown = sorted(wanted - EVENTS.keys())
    if unknown or not wanted:
        told = (
            f"'{unknown[0][:80]}' is not an event" if unknown else "a webhook without events is told nothing"
        )
        raise EventsRefused(f"{told}; there are {', '.join(EVENTS)}")
    return tuple(event for event in EVENTS if event in wanted)
