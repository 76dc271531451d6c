"""What every table is made with."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, DateTime, Dialect, ForeignKeyConstraint, Index, MetaData
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


def index_where_there(name: str, *columns: Column[Any], there: Column[Any]) -> Index:
    """An index of the rows in which `there` is not null, where most have null."""
    which = there.is_not(None)
    return Index(name, *columns, sqlite_where=which, postgresql_where=which)


def of_the_shop() -> ForeignKeyConstraint:
    """The procedure that a row names is one that its own shop was issued."""
    return ForeignKeyConstraint(["shop", "procedure_id"], ["procedures.shop", "procedures.id"])
