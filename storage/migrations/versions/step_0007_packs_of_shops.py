"""Packs are kept, proven and put in force by shops; what is there already is that of `local`, the service."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

LOCAL = "local"


def upgrade() -> None:
    _create_kept_packs()
    _remake("proofs", _proofs(shop=True), f"SELECT '{LOCAL}' AS shop, kept.* FROM kept_proofs AS kept")
    with _beside_the_outbox():
        told = f"SELECT kept.*, '{LOCAL}' AS shop, kept.number AS of_shop FROM kept_activations AS kept"
        _remake("activations", _activations(shop=True), told)
    # Renamed in place, so that the outbox goes on naming it.
    op.alter_column("activations", "number", new_column_name="key")
    op.alter_column("activations", "of_shop", new_column_name="number")
    op.drop_column("packs", "findings")


def downgrade() -> None:
    """What other shops than `local` have decided is lost, as there is no place for it; texts stay."""
    op.add_column("packs", sa.Column("findings", sa.Text, nullable=False, server_default="[]"))
    found = f"SELECT findings FROM kept_packs WHERE shop = '{LOCAL}' AND pack_digest = packs.digest"
    op.execute(f"UPDATE packs SET findings = coalesce(({found}), '[]')")
    others = f"SELECT key FROM activations WHERE shop <> '{LOCAL}'"
    op.execute(f"DELETE FROM outbox WHERE activation IN ({others})")
    op.execute(f"DELETE FROM activations WHERE shop <> '{LOCAL}'")
    with _beside_the_outbox():
        _count_anew()
        told = "SELECT kept.* FROM kept_activations AS kept"
        _remake("activations", _activations(shop=False), told)
    told = f"SELECT kept.* FROM kept_proofs AS kept WHERE shop = '{LOCAL}'"
    _remake("proofs", _proofs(shop=False), told)
    op.drop_table("kept_packs")


def _create_kept_packs() -> None:
    op.create_table(
        "kept_packs",
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), primary_key=True),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), primary_key=True),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("findings", sa.Text, nullable=False),
        sa.Column("laid_on", sa.String(80), sa.ForeignKey("packs.digest")),
    )
    op.create_index("kept_packs_newest_first", "kept_packs", ["shop", "kept_at", "pack_digest"])
    there = f"SELECT '{LOCAL}', digest, kept_at, findings FROM packs"
    op.execute(f"INSERT INTO kept_packs (shop, pack_digest, kept_at, findings) {there}")


def _proofs(shop: bool) -> list[Any]:
    return [
        *([sa.Column("shop", sa.String(64), primary_key=True)] if shop else []),
        sa.Column("pack_digest", sa.String(80), *_pack(shop), primary_key=True),
        sa.Column("passed", sa.Boolean, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("proven_at", sa.DateTime(timezone=True), nullable=False),
        *_kept(shop),
    ]


def _activations(shop: bool) -> list[Any]:
    of_shop = [
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), nullable=False),
        sa.Column("of_shop", sa.Integer, nullable=False),
    ]
    counted = sa.UniqueConstraint("shop", "of_shop", name="activations_of_shop")
    return [
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        *(of_shop if shop else []),
        sa.Column("pack_digest", sa.String(80), *_pack(shop), nullable=shop),
        sa.Column("effective_from", sa.DateTime(timezone=True), nullable=False),
        sa.Column("activated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        *([counted] if shop else []),
        *_kept(shop),
    ]


def _pack(shop: bool) -> list[sa.ForeignKey]:
    return [] if shop else [sa.ForeignKey("packs.digest")]


def _kept(shop: bool) -> list[sa.ForeignKeyConstraint]:
    own, kept = ["shop", "pack_digest"], ["kept_packs.shop", "kept_packs.pack_digest"]
    return [sa.ForeignKeyConstraint(own, kept)] if shop else []


def _remake(table: str, columns: list[Any], rows: str) -> None:
    """Make a table anew in another form; `rows` reads what is to be in it from its copy, `kept_…`."""
    op.execute(f"CREATE TABLE kept_{table} AS SELECT * FROM {table}")
    op.drop_table(table)
    op.create_table(table, *columns)
    names = ", ".join(column["name"] for column in sa.inspect(op.get_bind()).get_columns(table))
    op.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM ({rows}) AS rows_kept")
    op.drop_table(f"kept_{table}")


def _count_anew() -> None:
    """Name the decisions of `local` by their own number again, upwards, so that none is in the way."""
    connection = op.get_bind()
    for row in connection.execute(sa.text("SELECT key, number FROM activations ORDER BY key")).all():
        moved = {"key": row.key, "number": row.number}
        connection.execute(sa.text("UPDATE outbox SET activation = :number WHERE activation = :key"), moved)
        connection.execute(sa.text("UPDATE activations SET key = :number WHERE key = :key"), moved)
    op.alter_column("activations", "number", new_column_name="of_shop")
    op.alter_column("activations", "key", new_column_name="number")


@contextmanager
def _beside_the_outbox() -> Iterator[None]:
    """The activations may be made anew, although the outbox names them."""
    connection = op.get_bind()
    if connection.dialect.name == "sqlite":
        # Whether it names rows that are there is looked at in the end.
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        yield
        return
    keys = sa.inspect(connection).get_foreign_keys("outbox")
    (key,) = (key for key in keys if key["referred_table"] == "activations")
    op.drop_constraint(key["name"] or "", "outbox", type_="foreignkey")
    yield
    referred = sa.inspect(connection).get_pk_constraint("activations")["constrained_columns"]
    op.create_foreign_key(key["name"], "outbox", "activations", ["activation"], referred)
