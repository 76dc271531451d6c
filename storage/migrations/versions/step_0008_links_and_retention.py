"""The secrets of signed links; how long shops keep line items, and what is learned beyond that."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"

# What hangs on a procedure, or on stated facts, is looked for where those are removed.
_INDEXES = {
    "line_items_by_procedure": ("line_items", ["shop", "procedure_id"]),
    "latest_procedures_by_procedure": ("latest_procedures", ["shop", "procedure_id"]),
    "latest_procedures_by_stated": ("latest_procedures", ["stated_key"]),
    "outbox_by_procedure": ("outbox", ["shop", "procedure_id"]),
}

_REMOVED = {"removed_jobs": sa.Integer, "removed_total": sa.Float, "removed_squares": sa.Float}


def upgrade() -> None:
    op.create_table(
        "link_secrets",
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), primary_key=True),
        sa.Column("handle", sa.String(16), nullable=False, unique=True),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("secret", sa.String(64), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.add_column("shops", sa.Column("keep_days", sa.Integer))
    for name, kind in _REMOVED.items():
        op.add_column("estimates", sa.Column(name, kind, nullable=False, server_default="0"))
    for name, (table, columns) in _INDEXES.items():
        op.create_index(name, table, columns)


def downgrade() -> None:
    """What was learned from reports that are gone stays in the sums until the next report of their stage."""
    for name, (table, _) in _INDEXES.items():
        op.drop_index(name, table)
    for name in _REMOVED:
        op.drop_column("estimates", name)
    op.drop_column("shops", "keep_days")
    op.drop_table("link_secrets")
