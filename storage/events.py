"""Enters events in the transaction of what happened, each with a delivery for every webhook that it is for.

Who is told is decided there and then: a webhook that comes later, or is disabled, is not told.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, String, insert, literal, select
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement

from storage.database import inserting
from storage.tables import deliveries, outbox, webhooks
from storage.webhook_records import DeliveryState, new_event_id

Told = tuple[str, str]
"""The reference of a line item and the id of its procedure."""

Subscriber = tuple[str, str]
"""The shop of a webhook, and its id."""


class random_event_id(FunctionElement[str]):  # noqa: N801  # it is written like a function of SQL
    """A new event id for every row, where rows are made by the database."""

    type = String()
    inherit_cache = True


@compiles(random_event_id, "sqlite")
def _for_sqlite(_element: random_event_id, _compiler: object, **_options: object) -> str:
    return "'ev_' || lower(hex(randomblob(16)))"


@compiles(random_event_id, "postgresql")
def _for_postgresql(_element: random_event_id, _compiler: object, **_options: object) -> str:
    return "'ev_' || replace(gen_random_uuid()::text, '-', '')"


def tell(connection: Connection, shop: str, event: str, about: Sequence[Told], now: datetime) -> None:
    """Enter an event for each procedure, where a webhook of the shop wants it; else nothing is written."""
    wanting = subscribers(connection, event, shop) if about else []
    if not wanting:
        return
    rows = [
        {
            "id": new_event_id(),
            "event": event,
            "shop": shop,
            "reference": reference,
            "procedure_id": procedure_id,
            "created_at": now,
        }
        for reference, procedure_id in about
    ]
    connection.execute(insert(outbox), rows)
    hand_out(connection, wanting, outbox.c.id.in_([row["id"] for row in rows]), now)


def subscribers(connection: Connection, event: str, shop: str | None = None) -> list[Subscriber]:
    """The webhooks that are told of an event, of a shop where one is named."""
    query = select(webhooks.c.shop, webhooks.c.id, webhooks.c.events).where(webhooks.c.disabled_at.is_(None))
    if shop is not None:
        query = query.where(webhooks.c.shop == shop)
    # What is written for a webhook must not meet its removal half way.
    query = query.order_by(webhooks.c.id).with_for_update(read=True, key_share=True)
    return [(row.shop, row.id) for row in connection.execute(query) if event in row.events.split()]


def hand_out(
    connection: Connection, to: Sequence[Subscriber], which: ColumnElement[bool], now: datetime
) -> None:
    """Let the webhooks be told of the entered events of their shops that `which` is true of."""
    for shop, webhook_id in to:
        columns = {"webhook_id": literal(webhook_id), **_fresh(now)}
        query = select(outbox.c.shop, outbox.c.id, *columns.values()).where(which, outbox.c.shop == shop)
        names = ["shop", "event_id", *columns]
        connection.execute(
            inserting(connection, deliveries).from_select(names, query).on_conflict_do_nothing()
        )


def _fresh(now: datetime) -> dict[str, Any]:
    at = literal(now, deliveries.c.due_at.type)
    return {
        "state": literal(DeliveryState.WAITING.value),
        "created_at": at,
        "due_at": at,
        "tries": literal(0),
    }
