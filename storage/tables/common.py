"""What every table is made with."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import DateTime, Dialect, ForeignKeyConstraint, MetaData
from sqlalchemy.types import TypeDecorator

metadata = MetaData()

SECRET = {"secret": True}
"""The `info` of a column that is for the service alone: no export shows it."""

JSON_TEXT = {"json": True}
"""The `info` of a column whose text is JSON."""


class Moment(TypeDecorator[datetime]):
    """A point in time, kept in UTC. SQLite forgets the offset of a time, so it is put back here."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return value and value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None or value.tzinfo is not None:
            return value and value.astimezone(UTC)
        return value.replace(tzinfo=UTC)


def of_the_shop() -> ForeignKeyConstraint:
    """The procedure that a row names is one that its own shop was issued."""
    return ForeignKeyConstraint(["shop", "procedure_id"], ["procedures.shop", "procedures.id"])
