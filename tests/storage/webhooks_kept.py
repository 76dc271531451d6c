"""Webhooks in a store, and what they are told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from kept_versions import issue

from rules.pack import Pack
from storage.claims import Claim, Result
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store
from storage.webhook_records import EVENTS, Delivery, Webhook

URL = "https://shop.example/events?token=endpoint-own"
LEASE = timedelta(seconds=50)
HOUR = timedelta(hours=1)
ANSWERED, BROKEN = Result(12, 204, "answered 204"), Result(20_000, None, "no answer within 20 s")


def now() -> datetime:
    return datetime.now(UTC)


def webhook(store: Store, *events: str, shop: str = LOCAL) -> Webhook:
    return store.webhooks.create(shop, URL, events or EVENTS).webhook


def log(store: Store, of: Webhook) -> tuple[Delivery, ...]:
    """Every delivery to a webhook, the first one first."""
    return tuple(reversed(store.deliveries.of_webhook(of.shop, of.id, 1000).items))


def told(store: Store, of: Webhook) -> list[tuple[str, str | None]]:
    """Of what, and of which line item; sorted."""
    return sorted((each.event, each.reference) for each in log(store, of))


def claim(store: Store, of: Webhook, at: datetime | None = None) -> Claim:
    found = store.claims.claim(of.shop, of.id, LEASE, at or now())
    assert found is not None
    return found


def happen(store: Store, pack: Pack, *references: str, shop: str = LOCAL) -> list[KeptProcedure]:
    """Procedures that are issued for line items, the first one if none is named."""
    store.keep_pack(pack)
    return [issue(store, pack, reference, shop=shop) for reference in references or ("R1",)]
