"""Packs, procedures, and the line items they were issued for."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "packs",
        sa.Column("digest", sa.String(80), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("version", sa.Text, nullable=False),
        sa.Column("files", sa.Text, nullable=False),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "procedures",
        sa.Column("id", sa.String(80), primary_key=True),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("facts", sa.Text, nullable=False),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "line_items",
        sa.Column("reference", sa.Text, primary_key=True),
        sa.Column("procedure_id", sa.String(80), sa.ForeignKey("procedures.id"), primary_key=True),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("line_items_newest_first", "line_items", ["reference", "issued_at", "procedure_id"])
