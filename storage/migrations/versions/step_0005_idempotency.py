"""Requests that were made with a key, and how they were answered, for a day."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "idempotency",
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), primary_key=True),
        sa.Column("key", sa.String(255), primary_key=True),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("token", sa.String(32), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Integer),
        sa.Column("headers", sa.Text),
        sa.Column("body", sa.LargeBinary),
    )
    op.create_index("idempotency_by_end", "idempotency", ["expires_at"])


def downgrade() -> None:
    op.drop_table("idempotency")
