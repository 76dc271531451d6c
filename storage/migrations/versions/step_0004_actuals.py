"""What stages really took, and what their reports add up to."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "actuals",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), nullable=False),
        sa.Column("procedure_id", sa.String(80), nullable=False),
        sa.Column("stage", sa.Text, nullable=False),
        sa.Column("content", sa.String(64), nullable=False),
        sa.Column("work_min", sa.Float, nullable=False),
        sa.Column("started_at", sa.Text),
        sa.Column("ended_at", sa.Text),
        sa.Column("predicted_min", sa.Float, nullable=False),
        sa.Column("predicted_spread", sa.Float, nullable=False),
        sa.Column("check_passed", sa.Boolean),
        sa.Column("check_note", sa.Text),
        sa.Column("remark", sa.Text),
        sa.Column("reported_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reason", sa.Text),
        sa.Column("before_reset", sa.Boolean, nullable=False),
        sa.Column("replaced_by", sa.Integer, sa.ForeignKey("actuals.number")),
        sa.ForeignKeyConstraint(["shop", "procedure_id"], ["procedures.shop", "procedures.id"]),
        sa.UniqueConstraint("shop", "procedure_id", "stage", "content", name="actuals_once"),
    )
    op.create_index("actuals_by_stage", "actuals", ["shop", "stage", "number"])
    op.create_table(
        "estimates",
        sa.Column("shop", sa.String(64), sa.ForeignKey("shops.id"), primary_key=True),
        sa.Column("stage", sa.Text, primary_key=True),
        sa.Column("jobs", sa.Integer, nullable=False),
        sa.Column("total", sa.Float, nullable=False),
        sa.Column("squares", sa.Float, nullable=False),
        sa.Column("frozen_at", sa.DateTime(timezone=True)),
        sa.Column("frozen_after", sa.Integer),
        sa.Column("frozen_speed", sa.Float),
        sa.Column("reset_at", sa.DateTime(timezone=True)),
    )


def downgrade() -> None:
    op.drop_table("estimates")
    op.drop_table("actuals")
