"""The chain of what was done."""

from __future__ import annotations

from sqlalchemy import Column, Integer, String, Table, Text

from storage.tables.common import metadata

audit = Table(
    "audit",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("entry", Text, nullable=False),  # canonical JSON
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
)
