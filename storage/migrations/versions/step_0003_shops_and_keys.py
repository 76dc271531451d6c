"""Shops and their keys; what was issued belongs to a shop, and what is there already to `local`.

Every shop has rows of its own, also of the same content: an id is a digest of content and must not tell
that another shop has it too.
"""

from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

LOCAL = "local"

# Parents before children. Both databases can make them anew from copies, with rows in them.
_TABLES = ("procedures", "line_items", "latest_procedures", "outbox")


def upgrade() -> None:
    _create_shops()
    _create_keys()
    _set_aside()
    _create_issued(shop=True)
    _bring_back(f"'{LOCAL}' AS shop, kept.*", "1 = 1")


def downgrade() -> None:
    """What other shops than `local` were issued is lost, as there is no place for it."""
    _set_aside()
    _create_issued(shop=False)
    _bring_back("kept.*", f"kept.shop = '{LOCAL}'")
    op.drop_table("api_keys")
    op.drop_table("shops")


def _create_shops() -> None:
    shops = op.create_table(
        "shops",
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
    )
    local = {"id": LOCAL, "name": "The shop of this service", "created_at": datetime.now(UTC)}
    op.bulk_insert(shops, [local])


def _create_keys() -> None:
    op.create_table(
        "api_keys",
        sa.Column("prefix", sa.String(16), primary_key=True),
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("scopes", sa.Text, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True)),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
        sa.Column("last_used_at", sa.DateTime(timezone=True)),
        sa.Column("replaced_by", sa.String(16), sa.ForeignKey("api_keys.prefix")),
    )
    op.create_index("api_keys_of_shop", "api_keys", ["shop", "created_at"])


def _set_aside() -> None:
    for table in _TABLES:
        op.execute(f"CREATE TABLE kept_{table} AS SELECT * FROM {table}")
    for table in reversed(_TABLES):
        op.drop_table(table)


def _bring_back(columns: str, which: str) -> None:
    """The rows that were set aside, by the names of their columns."""
    connection = op.get_bind()
    for table in _TABLES:
        names = ", ".join(column["name"] for column in sa.inspect(connection).get_columns(table))
        kept = f"SELECT {columns} FROM kept_{table} AS kept WHERE {which}"
        op.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM ({kept}) AS rows_kept")
    for table in _TABLES:
        op.drop_table(f"kept_{table}")
    if connection.dialect.name == "postgresql":
        # Numbers go on where they were.
        last = "(SELECT coalesce(max(number), 0) + 1 FROM outbox)"
        op.execute(f"SELECT setval(pg_get_serial_sequence('outbox', 'number'), {last}, false)")


def _create_issued(shop: bool) -> None:
    """The tables of what was issued, with a column for its shop or without."""
    op.create_table(
        "procedures",
        *_shop(shop),
        sa.Column("id", sa.String(80), primary_key=True),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("facts", sa.Text, nullable=False),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "line_items",
        *_shop(shop),
        sa.Column("reference", sa.Text, primary_key=True),
        sa.Column("procedure_id", sa.String(80), primary_key=True),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        _procedure(shop),
    )
    op.create_table(
        "latest_procedures",
        *_shop(shop),
        sa.Column("reference", sa.Text, primary_key=True),
        sa.Column("procedure_id", sa.String(80), nullable=False),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), nullable=False),
        sa.Column("stated_key", sa.String(64), sa.ForeignKey("stated_facts.key"), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        _procedure(shop),
    )
    op.create_table(
        "outbox",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("event", sa.Text, nullable=False),
        *_shop(shop, primary_key=False),
        sa.Column("reference", sa.Text, nullable=False),
        sa.Column("procedure_id", sa.String(80), nullable=False),
        sa.Column("activation", sa.Integer, sa.ForeignKey("activations.number"), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("delivered_at", sa.DateTime(timezone=True)),
        _procedure(shop),
        sa.UniqueConstraint("event", *_named(shop), "procedure_id", "activation", name="outbox_once"),
    )
    op.create_index(
        "line_items_newest_first", "line_items", [*_named(shop), "reference", "issued_at", "procedure_id"]
    )
    op.create_index(
        "latest_procedures_by_facts",
        "latest_procedures",
        [*_named(shop), "pack_digest", "stated_key", "reference"],
    )


def _named(shop: bool) -> list[str]:
    return ["shop"] if shop else []


def _shop(shop: bool, primary_key: bool = True) -> list[sa.Column[str]]:
    if not shop:
        return []
    shops = sa.ForeignKey("shops.id")
    return [sa.Column("shop", sa.String(64), shops, primary_key=primary_key, nullable=False)]


def _procedure(shop: bool) -> sa.ForeignKeyConstraint:
    own, other = [*_named(shop), "procedure_id"], [*_named(shop), "id"]
    return sa.ForeignKeyConstraint(own, [f"procedures.{name}" for name in other])
