"""What the signed links of shops are signed with."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, String, Table

from storage.tables.common import SECRET, Moment, metadata

link_secrets = Table(
    "link_secrets",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("handle", String(16), nullable=False, unique=True),  # stands for the shop in a link
    Column("version", Integer, nullable=False),  # counts up when all links are ended
    Column("secret", String(64), nullable=False, info=SECRET),  # hexadecimal
    Column("made_at", Moment, nullable=False),
)
