"""The webhooks of shops. Their secrets are kept as they are, as every signature needs them whole."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    Row,
    Select,
    and_,
    delete,
    func,
    insert,
    select,
    update,
)

from storage import audit
from storage.audit import Who
from storage.database import guarded, writing
from storage.events import hand_out
from storage.faults import TooManyWebhooks, WebhookChanged, WebhookDisabled, WebhookUnknown
from storage.tables import deliveries, outbox, webhooks
from storage.webhook_records import (
    BY_REQUEST,
    TEST,
    Delivery,
    DeliveryState,
    NewWebhook,
    Webhook,
    events_of,
    new_event_id,
    new_webhook_id,
)
from storage.webhook_secrets import as_text, holding, new_secret, rotated

GRACE = timedelta(hours=24)
"""So long the secret before signs too, unless said otherwise."""

MOST = 20
"""So many webhooks a shop may have."""


class Webhooks:
    """The webhooks of one database. Every method may raise StoreUnavailable.

    Every change writes an audit entry; `by` is who asked for it over HTTP.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def create(
        self,
        shop: str,
        url: str,
        events: Iterable[str],
        description: str | None = None,
        by: Who | None = None,
    ) -> NewWebhook:
        """A new webhook, which is told of what happens from now on.

        Raises EventsRefused, and TooManyWebhooks where the shop has MOST.
        """
        wanted, secret, now = events_of(events), new_secret(), datetime.now(UTC)
        webhook = Webhook(new_webhook_id(), shop, url, wanted, description or None, now)
        with writing(self._engine) as connection:
            count = select(func.count()).select_from(webhooks).where(webhooks.c.shop == shop)
            if connection.execute(count).scalar_one() >= MOST:
                raise TooManyWebhooks(f"a shop may have {MOST} webhooks; remove one that is not needed")
            row = {
                "id": webhook.id,
                "shop": shop,
                "url": url,
                "events": _column(wanted),
                "description": webhook.description,
                "secrets": as_text([(secret, None)]),
                "created_at": now,
            }
            connection.execute(insert(webhooks).values(row))
            audit.append(connection, "webhook.created", _told(webhook), now, by)
        return NewWebhook(webhook, secret)

    def all(self, shop: str) -> tuple[Webhook, ...]:
        """Every webhook of a shop, in the order they were made."""
        query = _of(shop).order_by(webhooks.c.created_at, webhooks.c.id)
        with guarded(self._engine), self._engine.connect() as connection:
            return tuple(_webhook(row) for row in connection.execute(query))

    def find(self, shop: str, webhook_id: str) -> Webhook | None:
        """The webhook of a shop; None also where only others have it."""
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(_of(shop, webhook_id)).first()
        return None if row is None else _webhook(row)

    def change(
        self,
        shop: str,
        webhook_id: str,
        url: str | None = None,
        events: Iterable[str] | None = None,
        description: str | None = None,
        enabled: bool | None = None,
        by: Who | None = None,
        seen: Webhook | None = None,
    ) -> Webhook:
        """Change what is named; a description of "" is removed. What waits for a disabled one is stopped.

        Raises WebhookUnknown, EventsRefused, and WebhookChanged where it is not as it was `seen`.
        """
        columns: dict[str, Any] = {}
        if events is not None:
            columns["events"] = _column(events_of(events))
        if description is not None:
            columns["description"] = description or None
        with writing(self._engine) as connection:
            webhook, now = known(connection, shop, webhook_id, seen), datetime.now(UTC)
            if url not in (None, webhook.url):
                columns |= {"url": url, "held_until": None}
            if enabled is True and not webhook.enabled:
                columns |= {"disabled_at": None, "disabled_because": None, "held_until": None}
            if enabled is False and webhook.enabled:
                disable(connection, shop, webhook_id, BY_REQUEST, now)
            if columns:
                connection.execute(update(webhooks).where(*_named(shop, webhook_id)).values(columns))
            changed = known(connection, shop, webhook_id)
            if not changed.is_as(webhook):
                audit.append(connection, "webhook.changed", _told(changed), now, by)
        return changed

    def remove(self, shop: str, webhook_id: str, by: Who | None = None, seen: Webhook | None = None) -> None:
        """Remove a webhook and its deliveries.

        Raises WebhookUnknown, and WebhookChanged where it is not as it was `seen`.
        """
        with writing(self._engine) as connection:
            webhook = known(connection, shop, webhook_id, seen)
            connection.execute(delete(webhooks).where(*_named(shop, webhook_id)))
            audit.append(connection, "webhook.removed", _told(webhook), datetime.now(UTC), by)

    def rotate(
        self, shop: str, webhook_id: str, grace: timedelta = GRACE, by: Who | None = None
    ) -> NewWebhook:
        """A new secret; for `grace` the one before signs too, without one no other does.

        Raises WebhookUnknown.
        """
        secret, now, its = new_secret(), datetime.now(UTC), _named(shop, webhook_id)
        with writing(self._engine) as connection:
            known(connection, shop, webhook_id)
            held = connection.execute(select(webhooks.c.secrets).where(*its)).scalar_one()
            columns = {"secrets": rotated(held, secret, grace, now)}
            connection.execute(update(webhooks).where(*its).values(columns))
            webhook = known(connection, shop, webhook_id)
            told = {**_told(webhook), "until": audit.moment(max(now, now + grace))}
            audit.append(connection, "webhook.rotated", told, now, by)
        return NewWebhook(webhook, secret)

    def test(self, shop: str, webhook_id: str) -> Delivery:
        """Let a webhook be told of TEST, whatever it wants to be told of.

        Raises WebhookUnknown and WebhookDisabled.
        """
        now, event_id = datetime.now(UTC), new_event_id()
        with writing(self._engine) as connection:
            refuse_disabled(known(connection, shop, webhook_id))
            row = {"id": event_id, "event": TEST, "shop": shop, "created_at": now}
            connection.execute(insert(outbox).values(row))
            hand_out(connection, [(shop, webhook_id)], outbox.c.id == event_id, now)
        return Delivery(event_id, TEST, webhook_id, DeliveryState.WAITING, now, now, None, None, None, 0)


def known(connection: Connection, shop: str, webhook_id: str, seen: Webhook | None = None) -> Webhook:
    """The webhook of a shop. Raises WebhookUnknown, and WebhookChanged where it is not as it was `seen`."""
    row = connection.execute(_of(shop, webhook_id)).first()
    if row is None:
        raise WebhookUnknown(f"there is no webhook '{webhook_id[:80]}'")
    webhook = _webhook(row)
    if seen is not None and not webhook.is_as(seen):
        raise WebhookChanged(f"the webhook {webhook.id} was changed meanwhile")
    return webhook


def refuse_disabled(webhook: Webhook) -> None:
    """Raises WebhookDisabled."""
    if not webhook.enabled:
        raise WebhookDisabled(f"the webhook {webhook.id} is disabled; enable it first")


def disable(connection: Connection, shop: str, webhook_id: str, because: str, now: datetime) -> None:
    """Let nothing be sent to a webhook any more, neither what waits nor what happens later."""
    disabled = {"disabled_at": now, "disabled_because": because}
    connection.execute(update(webhooks).where(*_named(shop, webhook_id)).values(disabled))
    its = and_(deliveries.c.shop == shop, deliveries.c.webhook_id == webhook_id)
    stop_waiting(connection, its, now)


def stop_waiting(connection: Connection, which: ColumnElement[bool], now: datetime) -> None:
    """Stop the deliveries that wait and that `which` is true of."""
    stopped = {"state": DeliveryState.STOPPED.value, "due_at": None, "ended_at": now, **RELEASED}
    connection.execute(update(deliveries).where(deliveries.c.due_at.is_not(None), which).values(stopped))


RELEASED = {"token": None, "leased_until": None}
"""The columns of a delivery that nobody is sending."""


def _of(shop: str, webhook_id: str | None = None) -> Select[Any]:
    query = select(webhooks).where(webhooks.c.shop == shop)
    return query if webhook_id is None else query.where(webhooks.c.id == webhook_id)


def _named(shop: str, webhook_id: str) -> tuple[Any, Any]:
    return webhooks.c.shop == shop, webhooks.c.id == webhook_id


def _column(events: Iterable[str]) -> str:
    return " ".join(events)


def _told(webhook: Webhook) -> dict[str, Any]:
    """Without its path, in which an endpoint may have put a secret of its own."""
    return {
        "webhook": webhook.id,
        "shop": webhook.shop,
        "host": urlsplit(webhook.url).netloc,
        "events": list(webhook.events),
        "enabled": webhook.enabled,
    }


def _webhook(row: Row[Any]) -> Webhook:
    ends = [end for _, end in holding(row.secrets, datetime.now(UTC)) if end is not None]
    return Webhook(
        id=row.id,
        shop=row.shop,
        url=row.url,
        events=tuple(row.events.split()),
        description=row.description,
        created_at=row.created_at,
        disabled_at=row.disabled_at,
        disabled_because=row.disabled_because,
        previous_secret_until=max(ends, default=None),
        tried_at=row.tried_at,
    )
