"""What stages really took, and what is learned from it."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from storage.tables.common import Moment, index_where_there, metadata, of_the_shop

actuals = Table(
    "actuals",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("shop", ForeignKey("shops.id"), nullable=False),
    Column("procedure_id", String(80), nullable=False),
    Column("stage", Text, nullable=False),
    Column("content", String(64), nullable=False),
    Column("work_min", Float, nullable=False),  # as it was said, or from start to end
    Column("started_at", Text),  # RFC 3339, with the offset that was said; together with ended_at
    Column("ended_at", Text),
    Column("predicted_min", Float, nullable=False),
    Column("predicted_spread", Float, nullable=False),
    Column("check_passed", Boolean),
    Column("check_note", Text),
    Column("remark", Text),
    Column("reported_at", Moment, nullable=False),
    Column("reason", Text),  # why nothing is learned from it
    Column("before_reset", Boolean, nullable=False),
    Column("replaced_by", ForeignKey("actuals.number")),
    of_the_shop(),
    UniqueConstraint("shop", "procedure_id", "stage", "content", name="actuals_once"),
    Index("actuals_by_stage", "shop", "stage", "number"),
)
# Every report that is removed is looked for here, and few have a correction.
index_where_there("actuals_by_replacement", actuals.c.replaced_by, there=actuals.c.replaced_by)

# Beside the reports: their sums, so that issuing a procedure reads a row a stage and no reports.
estimates = Table(
    "estimates",
    metadata,
    Column("shop", ForeignKey("shops.id"), primary_key=True),
    Column("stage", Text, primary_key=True),
    Column("jobs", Integer, nullable=False),
    Column("total", Float, nullable=False),  # of log(work_min / predicted_min)
    Column("squares", Float, nullable=False),
    Column("frozen_at", Moment),
    Column("frozen_after", Integer),  # the number of the last report before; together with frozen_at
    Column("frozen_speed", Float),
    Column("reset_at", Moment),
    # The sums of counted reports that are no longer kept, as a part of those above.
    Column("removed_jobs", Integer, nullable=False, server_default="0"),
    Column("removed_total", Float, nullable=False, server_default="0"),
    Column("removed_squares", Float, nullable=False, server_default="0"),
)
