"""What happened, for whoever is to be told."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, String, Table, Text, UniqueConstraint

from storage.tables.common import Moment, metadata, of_the_shop

outbox = Table(
    "outbox",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("event", Text, nullable=False),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("reference", Text, nullable=False),
    Column("procedure_id", String(80), nullable=False),
    Column("activation", ForeignKey("activations.number"), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("delivered_at", Moment),
    of_the_shop(),
    UniqueConstraint("event", "shop", "procedure_id", "activation", name="outbox_once"),
)
