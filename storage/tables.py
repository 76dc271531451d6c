"""The tables. `storage.migrations` brings a database to this shape."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
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


def _of_the_shop() -> ForeignKeyConstraint:
    """The procedure that a row names is one that its own shop was issued."""
    return ForeignKeyConstraint(["shop", "procedure_id"], ["procedures.shop", "procedures.id"])


shops = Table(
    "shops",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("created_at", Moment, nullable=False),
)

api_keys = Table(
    "api_keys",
    metadata,
    Column("prefix", String(16), primary_key=True),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("name", Text, nullable=False),
    Column("digest", String(64), nullable=False),  # SHA-256 of the secret, in hexadecimal
    Column("scopes", Text, nullable=False),  # separated by spaces
    Column("created_at", Moment, nullable=False),
    Column("expires_at", Moment),
    Column("revoked_at", Moment),
    Column("last_used_at", Moment),  # coarse
    Column("replaced_by", ForeignKey("api_keys.prefix")),
    Index("api_keys_of_shop", "shop", "created_at"),
)

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

# What was issued is kept for each shop by itself: an id is a digest of content, and must not tell that
# another shop has the same.
procedures = Table(
    "procedures",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("id", String(80), primary_key=True),
    Column("document", Text, nullable=False),  # JSON, as issued
    Column("facts", Text, nullable=False),  # JSON
    Column("pack_digest", ForeignKey("packs.digest"), nullable=False),
    Column("issued_at", Moment, nullable=False),
)

line_items = Table(
    "line_items",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("reference", Text, primary_key=True),
    Column("procedure_id", String(80), primary_key=True),
    Column("issued_at", Moment, nullable=False),  # of the last time it was issued
    _of_the_shop(),
    Index("line_items_newest_first", "shop", "reference", "issued_at", "procedure_id"),
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
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("reference", Text, primary_key=True),
    Column("procedure_id", String(80), nullable=False),
    Column("pack_digest", ForeignKey("packs.digest"), nullable=False),
    Column("stated_key", ForeignKey("stated_facts.key"), nullable=False),
    Column("issued_at", Moment, nullable=False),
    _of_the_shop(),
    Index("latest_procedures_by_facts", "shop", "pack_digest", "stated_key", "reference"),
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
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("reference", Text, nullable=False),
    Column("procedure_id", String(80), nullable=False),
    Column("activation", ForeignKey("activations.number"), nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("delivered_at", Moment),
    _of_the_shop(),
    UniqueConstraint("event", "shop", "procedure_id", "activation", name="outbox_once"),
)

audit = Table(
    "audit",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("entry", Text, nullable=False),  # canonical JSON
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
)

actuals = Table(
    "actuals",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("procedure_id", String(80), nullable=False),
    Column("stage", Text, nullable=False),
    Column("content", String(64), nullable=False),
    Column("work_min", Float, nullable=False),  # as it was said, or from start to end
    Column("started_at", Text),  # RFC 3339, with the offset that was said; together with ended_at
    Column("ended_at", Text),
    Column("predicted_min", Float, nullable=False),
    Column("predicted_spread", Float, nullable=False),
    Column("check_passed", Boolean),
    Column("check_note", Text),
    Column("remark", Text),
    Column("reported_at", Moment, nullable=False),
    Column("reason", Text),  # why nothing is learned from it
    Column("before_reset", Boolean, nullable=False),
    Column("replaced_by", ForeignKey("actuals.number")),
    _of_the_shop(),
    UniqueConstraint("shop", "procedure_id", "stage", "content", name="actuals_once"),
    Index("actuals_by_stage", "shop", "stage", "number"),
)

# Beside the reports: their sums, so that issuing a procedure reads a row a stage and no reports.
estimates = Table(
    "estimates",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("stage", Text, primary_key=True),
    Column("jobs", Integer, nullable=False),
    Column("total", Float, nullable=False),  # of log(work_min / predicted_min)
    Column("squares", Float, nullable=False),
    Column("frozen_at", Moment),
    Column("frozen_after", Integer),  # the number of the last report before; together with frozen_at
    Column("frozen_speed", Float),
    Column("reset_at", Moment),
)

idempotency = Table(
    "idempotency",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("key", String(255), primary_key=True),
    Column("digest", String(64), nullable=False),  # of the request, in hexadecimal
    Column("token", String(32), nullable=False),  # of whoever is at work on it, or was
    Column("expires_at", Moment, nullable=False),
    Column("status", Integer),  # together with headers and body, once it was answered
    Column("headers", Text),  # JSON
    Column("body", LargeBinary),  # compressed by zlib
    Index("idempotency_by_end", "expires_at"),
)
