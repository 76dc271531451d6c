"""What happened, the webhooks that are told of it, and how telling them went."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from storage.tables.common import SECRET, Moment, index_where_there, metadata, of_the_shop

outbox = Table(
    "outbox",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", String(40), nullable=False),  # the `webhook-id` of all that is sent about it
    Column("event", Text, nullable=False),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("reference", Text),  # of the line item, together with procedure_id, where it is about one
    Column("procedure_id", String(80)),
    Column("activation", ForeignKey("activations.key")),  # the one that superseded the procedure
    Column("created_at", Moment, nullable=False),
    of_the_shop(),
    UniqueConstraint("event", "shop", "procedure_id", "activation", name="outbox_once"),
    UniqueConstraint("shop", "id", name="outbox_by_id"),
    Index("outbox_by_procedure", "shop", "procedure_id"),
)
# Every activation that is removed is looked for here, and few events are about one.
index_where_there("outbox_by_activation", outbox.c.activation, there=outbox.c.activation)

webhooks = Table(
    "webhooks",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("id", String(40), primary_key=True),
    Column("url", Text, nullable=False),
    Column("events", Text, nullable=False),  # separated by spaces
    Column("description", Text),
    Column("secrets", Text, nullable=False, info=SECRET),  # JSON: [secret, end], the present one first
    Column("created_at", Moment, nullable=False),
    Column("disabled_at", Moment),
    Column("disabled_because", Text),  # together with disabled_at
    Column("held_until", Moment),  # nothing is sent before: the endpoint asked for it
    Column("tried_at", Moment),  # the last time that something was sent
)

# One row for each webhook that an event is for.
deliveries = Table(
    "deliveries",
    metadata,
    Column("shop", String(64), primary_key=True),
    Column("webhook_id", String(40), primary_key=True),
    Column("event_id", String(40), primary_key=True),
    Column("state", String(16), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("due_at", Moment),  # of the next attempt, while it waits
    Column("tries", Integer, nullable=False),  # since it was begun, or begun anew by a replay
    Column("token", String(32), info=SECRET),  # of whoever sends it, together with leased_until
    Column("leased_until", Moment),
    Column("ended_at", Moment),
    ForeignKeyConstraint(["shop", "webhook_id"], ["webhooks.shop", "webhooks.id"], ondelete="CASCADE"),
    ForeignKeyConstraint(["shop", "event_id"], ["outbox.shop", "outbox.id"], ondelete="CASCADE"),
    Index("deliveries_newest_first", "webhook_id", "created_at", "event_id"),
    Index("deliveries_of_event", "shop", "event_id"),
    Index("deliveries_by_end", "ended_at"),
)
# Few rows wait or are being sent, so what looks for those must not read the log.
index_where_there(
    "deliveries_waiting",
    deliveries.c.webhook_id,
    deliveries.c.due_at,
    deliveries.c.event_id,
    there=deliveries.c.due_at,
)
index_where_there(
    "deliveries_leased",
    deliveries.c.webhook_id,
    deliveries.c.leased_until,
    there=deliveries.c.leased_until,
)

attempts = Table(
    "delivery_attempts",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("shop", String(64), nullable=False),
    Column("webhook_id", String(40), nullable=False),
    Column("event_id", String(40), nullable=False),
    Column("began_at", Moment, nullable=False),
    Column("duration_ms", Integer),
    Column("status", Integer),  # of the answer, where one came
    Column("reason", Text),  # in words of our own; none while it is under way
    ForeignKeyConstraint(
        ["shop", "webhook_id", "event_id"],
        ["deliveries.shop", "deliveries.webhook_id", "deliveries.event_id"],
        ondelete="CASCADE",
    ),
    Index("delivery_attempts_of_delivery", "shop", "webhook_id", "event_id", "number"),
)
