"""The tables. `storage.migrations` brings a database to this shape."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Column, DateTime, Dialect, ForeignKey, Index, MetaData, String, Table, Text
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
