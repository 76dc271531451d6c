"""Webhooks and their deliveries; the outbox holds events of every kind, each with an id of its own."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"

_NEW_ID = {
    "sqlite": "'ev_' || lower(hex(randomblob(16)))",
    "postgresql": "'ev_' || replace(gen_random_uuid()::text, '-', '')",
}


def upgrade() -> None:
    """What is in the outbox stays, and is for nobody: there was no webhook when it happened."""
    _open_outbox()
    _create_webhooks()
    _create_deliveries()
    _create_attempts()


def _open_outbox() -> None:
    op.add_column("outbox", sa.Column("id", sa.String(40)))
    op.execute(f"UPDATE outbox SET id = {_NEW_ID[op.get_bind().dialect.name]}")
    with op.batch_alter_table("outbox") as outbox:
        outbox.alter_column("id", existing_type=sa.String(40), nullable=False)
        outbox.alter_column("reference", existing_type=sa.Text, nullable=True)
        outbox.alter_column("procedure_id", existing_type=sa.String(80), nullable=True)
        outbox.alter_column("activation", existing_type=sa.Integer, nullable=True)
        outbox.drop_column("delivered_at")
        outbox.create_unique_constraint("outbox_by_id", ["shop", "id"])


def _create_webhooks() -> None:
    op.create_table(
        "webhooks",
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), primary_key=True),
        sa.Column("id", sa.String(40), primary_key=True),
        sa.Column("url", sa.Text, nullable=False),
        sa.Column("events", sa.Text, nullable=False),
        sa.Column("description", sa.Text),
        sa.Column("secrets", sa.Text, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("disabled_at", sa.DateTime(timezone=True)),
        sa.Column("disabled_because", sa.Text),
        sa.Column("held_until", sa.DateTime(timezone=True)),
        sa.Column("tried_at", sa.DateTime(timezone=True)),
    )


def _create_deliveries() -> None:
    op.create_table(
        "deliveries",
        sa.Column("shop", sa.String(64), primary_key=True),
        sa.Column("webhook_id", sa.String(40), primary_key=True),
        sa.Column("event_id", sa.String(40), primary_key=True),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True)),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("token", sa.String(32)),
        sa.Column("leased_until", sa.DateTime(timezone=True)),
        sa.Column("ended_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["shop", "webhook_id"], ["webhooks.shop", "webhooks.id"], ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["shop", "event_id"], ["outbox.shop", "outbox.id"], ondelete="CASCADE"),
    )
    op.create_index("deliveries_newest_first", "deliveries", ["webhook_id", "created_at", "event_id"])
    op.create_index("deliveries_of_event", "deliveries", ["shop", "event_id"])
    op.create_index("deliveries_by_end", "deliveries", ["ended_at"])
    _create_partial_index("deliveries_waiting", ["webhook_id", "due_at", "event_id"], "due_at IS NOT NULL")
    _create_partial_index("deliveries_leased", ["webhook_id", "leased_until"], "leased_until IS NOT NULL")


def _create_partial_index(name: str, columns: list[str], where: str) -> None:
    only = sa.text(where)
    op.create_index(name, "deliveries", columns, sqlite_where=only, postgresql_where=only)


def _create_attempts() -> None:
    its_delivery = ["shop", "webhook_id", "event_id"]
    op.create_table(
        "delivery_attempts",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("shop", sa.String(64), nullable=False),
        sa.Column("webhook_id", sa.String(40), nullable=False),
        sa.Column("event_id", sa.String(40), nullable=False),
        sa.Column("began_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("duration_ms", sa.Integer),
        sa.Column("status", sa.Integer),
        sa.Column("reason", sa.Text),
        sa.ForeignKeyConstraint(
            its_delivery, [f"deliveries.{name}" for name in its_delivery], ondelete="CASCADE"
        ),
    )
    op.create_index("delivery_attempts_of_delivery", "delivery_attempts", [*its_delivery, "number"])


def downgrade() -> None:
    """Webhooks and their log are lost, and with them what happened beside activations."""
    op.add_column("outbox", sa.Column("delivered_at", sa.DateTime(timezone=True)))
    # Told is what some webhook was to be told of and none is any more.
    op.execute(
        "UPDATE outbox SET delivered_at = (SELECT max(d.ended_at) FROM deliveries d"
        " WHERE d.shop = outbox.shop AND d.event_id = outbox.id HAVING count(d.ended_at) = count(*))"
    )
    for table in ("delivery_attempts", "deliveries", "webhooks"):
        op.drop_table(table)
    op.execute("DELETE FROM outbox WHERE activation IS NULL")
    with op.batch_alter_table("outbox") as outbox:
        outbox.drop_constraint("outbox_by_id", type_="unique")
        outbox.drop_column("id")
        outbox.alter_column("reference", existing_type=sa.Text, nullable=False)
        outbox.alter_column("procedure_id", existing_type=sa.String(80), nullable=False)
        outbox.alter_column("activation", existing_type=sa.Integer, nullable=False)
