"""Rule packs, their proofs, and which was in force when."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Integer, String, Table, Text

from storage.tables.common import Moment, metadata

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
