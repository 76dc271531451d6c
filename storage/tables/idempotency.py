"""Requests that were made with a key, and how they were answered."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, LargeBinary, String, Table, Text

from storage.tables.common import Moment, metadata

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
