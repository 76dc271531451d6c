"""The tables. `storage.migrations` brings a database to this shape."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.types import TypeDecorator


class Moment(TypeDecorator[datetime]):
    """A point in time, kept in UTC. SQLite forgets the offset of a time, so it is put back here."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return value and value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None or value.tzinfo is not None:
            return value and value.astimezone(UTC)
        return value.replace(tzinfo=UTC)


metadata = MetaData()

packs = Table(
    "packs",
    metadata,
    Column("digest", String(80), primary_key=True),
    Column("name", Text, nullable=False),
    Column("version", Text, nullable=False),
    Column("files", Text, nullable=False),  # JSON: pack name -> path -> text
    Column("kept_at", Moment, nullable=False),
    Column("findings", Text, nullable=False, server_default="[]"),  # JSON: what checks found
)

procedures = Table(
    "procedures",
    metadata,
    Column("id", String(80), primary_key=True),
    Column("document", Text, nullable=False),  # JSON, as issued
    Column("facts", Text, nullable=False),  # JSON
    Column("pack_digest", ForeignKey("packs.digest"), nullable=False),
    Column("issued_at", Moment, nullable=False),
)

line_items = Table(
    "line_items",
    metadata,
    Column("reference", Text, primary_key=True),
    Column("procedure_id", ForeignKey("procedures.id"), primary_key=True),
    Column("issued_at", Moment, nullable=False),  # of the last time it was issued
    Index("line_items_newest_first", "reference", "issued_at", "procedure_id"),
)

stated_facts = Table(
    "stated_facts",
    metadata,
    Column("key", String(64), primary_key=True),
    Column("material", Text, nullable=False),
    Column("facts", Text, nullable=False),  # JSON, what the line item itself says
)

# Beside the history in line_items: small rows, so that all line items can be grouped without reading
# their documents.
latest_procedures = Table(
    "latest_procedures",
    metadata,
    Column("reference", Text, primary_key=True),
    Column("procedure_id", ForeignKey("procedures.id"), nullable=False),
    Column("pack_digest", ForeignKey("packs.digest"), nullable=False),
    Column("stated_key", ForeignKey("stated_facts.key"), nullable=False),
    Column("issued_at", Moment, nullable=False),
    Index("latest_procedures_by_facts", "pack_digest", "stated_key", "reference"),
)

proofs = Table(
    "proofs",
    metadata,
    Column("pack_digest", ForeignKey("packs.digest"), primary_key=True),
    Column("passed", Boolean, nullable=False),
    Column("document", Text, nullable=False),  # JSON
    Column("proven_at", Moment, nullable=False),
)

activations = Table(
    "activations",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("pack_digest", ForeignKey("packs.digest"), nullable=False),
    Column("effective_from", Moment, nullable=False),
    Column("activated_at", Moment, nullable=False),
    Column("origin", Text, nullable=False),
)

outbox = Table(
    "outbox",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("event", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("procedure_id", ForeignKey("procedures.id"), nullable=False),
    Column("activation", ForeignKey("activations.number"), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("delivered_at", Moment),
    UniqueConstraint("event", "procedure_id", "activation", name="outbox_once"),
)

audit = Table(
    "audit",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("entry", Text, nullable=False),  # canonical JSON
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
)
