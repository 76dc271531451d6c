"""Rule packs, who keeps them, their proofs, and which was in force when."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
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

from storage.tables.common import JSON_TEXT, Moment, metadata

# A text is kept once, whoever keeps it.
packs = Table(
    "packs",
    metadata,
    Column("digest", String(80), primary_key=True),
    Column("name", Text, nullable=False),
    Column("version", Text, nullable=False),
    Column("files", Text, nullable=False, info=JSON_TEXT),  # pack name -> path -> text; empty: kept by nobody
    Column("kept_at", Moment, nullable=False),  # by whoever kept it first
)

# What is known of a pack is known to its shop alone: a digest must not tell that another shop has it too.
kept_packs = Table(
    "kept_packs",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("pack_digest", ForeignKey("packs.digest"), primary_key=True),
    Column("kept_at", Moment, nullable=False),
    Column("findings", Text, nullable=False, info=JSON_TEXT),  # what checks found
    Column("laid_on", ForeignKey("packs.digest")),  # the pack of the service that an overlay is laid on
    Index("kept_packs_newest_first", "shop", "kept_at", "pack_digest"),
)


def _kept_by_the_shop() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["shop", "pack_digest"], ["kept_packs.shop", "kept_packs.pack_digest"])


proofs = Table(
    "proofs",
    metadata,
    Column("shop", String(64), primary_key=True),
    Column("pack_digest", String(80), primary_key=True),
    Column("passed", Boolean, nullable=False),
    Column("document", Text, nullable=False, info=JSON_TEXT),
    Column("proven_at", Moment, nullable=False),
    _kept_by_the_shop(),
)

activations = Table(
    "activations",
    metadata,
    Column("key", Integer, primary_key=True, autoincrement=False),  # that of its audit entry
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("number", Integer, nullable=False),  # counts those of the shop
    Column("pack_digest", String(80)),  # none: from then on the shop follows the service
    Column("effective_from", Moment, nullable=False),
    Column("activated_at", Moment, nullable=False),
    Column("origin", Text, nullable=False),
    _kept_by_the_shop(),
    UniqueConstraint("shop", "number", name="activations_of_shop"),
)
