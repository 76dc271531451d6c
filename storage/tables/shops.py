"""Shops and the keys that work for them."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, String, Table, Text

from storage.tables.common import SECRET, Moment, metadata

shops = Table(
    "shops",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("keep_days", Integer),  # how long line items are kept after their last issue
    Column("sandbox_of", ForeignKey("shops.id")),  # the shop whose sandbox this one is
    Index("shops_by_sandbox", "sandbox_of", unique=True),
)

api_keys = Table(
    "api_keys",
    metadata,
    Column("prefix", String(16), primary_key=True),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("name", Text, nullable=False),
    Column("digest", String(64), nullable=False, info=SECRET),  # SHA-256 of the secret, in hexadecimal
    Column("scopes", Text, nullable=False),  # separated by spaces
    Column("created_at", Moment, nullable=False),
    Column("expires_at", Moment),
    Column("revoked_at", Moment),
    Column("last_used_at", Moment),  # coarse
    Column("replaced_by", ForeignKey("api_keys.prefix")),
    Index("api_keys_of_shop", "shop", "created_at"),
)
