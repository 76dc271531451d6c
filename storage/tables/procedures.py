"""What was issued, and for which line items."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, String, Table, Text

from storage.tables.common import JSON_TEXT, Moment, metadata, of_the_shop

# What was issued is kept for each shop by itself: an id is a digest of content, and must not tell that
# another shop has the same.
procedures = Table(
    "procedures",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("id", String(80), primary_key=True),
    Column("document", Text, nullable=False, info=JSON_TEXT),  # as issued
    Column("facts", Text, nullable=False, info=JSON_TEXT),
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
    of_the_shop(),
    Index("line_items_newest_first", "shop", "reference", "issued_at", "procedure_id"),
    Index("line_items_by_procedure", "shop", "procedure_id"),
)

stated_facts = Table(
    "stated_facts",
    metadata,
    Column("key", String(64), primary_key=True),
    Column("material", Text, nullable=False),
    Column("facts", Text, nullable=False, info=JSON_TEXT),  # what the line item itself says
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
    of_the_shop(),
    Index("latest_procedures_by_facts", "shop", "pack_digest", "stated_key", "reference"),
    Index("latest_procedures_by_procedure", "shop", "procedure_id"),
    Index("latest_procedures_by_stated", "stated_key"),
)
