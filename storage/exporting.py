"""Everything that is kept of a shop and its sandbox, row by row, without what is for the service alone.

All of it is read at one moment, and a few rows at a time.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, ColumnElement, Connection, Engine, Table, exists, func, or_, select

from storage.belongings import belongings, references_to, shared, with_sandbox
from storage.database import reading
from storage.shops import refuse_unknown
from storage.tables import idempotency, procedures, shops
from storage.tables.common import JSON_TEXT, SECRET

AT_ONCE = 100
"""So many rows are in memory at once."""

LEFT_OUT = (idempotency,)
"""Answers that are given again, for a day: what they say is in the other tables."""

Which = dict[Table, ColumnElement[bool]]


@dataclass(frozen=True)
class Row:
    """A row, JSON-ready, and the name of its table."""

    table: str
    columns: dict[str, Any]


class Exports:
    """The exports of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def of_shop(self, shop: str) -> Iterator[Row]:
        """First how many rows follow of each table, as a row of `export`, then those. Raises ShopUnknown."""
        with reading(self._engine) as connection:
            refuse_unknown(connection, shop)
            which = _which(with_sandbox(connection, shop))
            counts = {
                table.name: connection.scalar(select(func.count()).select_from(table).where(its))
                for table, its in which.items()
            }
            at = datetime.now(UTC).isoformat()
            yield Row("export", {"shop": shop, "exported_at": at, "rows": counts})
            for table, its in which.items():
                yield from _rows(connection, table, its)

    def every_procedure(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        """The shop, the id and the document of every procedure there is."""
        query = select(procedures.c.shop, procedures.c.id, procedures.c.document)
        with reading(self._engine) as connection:
            for row in connection.execute(query, execution_options={"yield_per": AT_ONCE}):
                yield row.shop, row.id, json.loads(row.document)


def _which(ids: list[str]) -> Which:
    """The rows of shops in each table, and of what shops share those that they refer to."""
    own = {table: named.in_(ids) for table, named in belongings().items()}
    referred = {
        table: or_(
            *(
                exists().where(own[key.table], *(each.parent == each.column for each in key.elements))
                for key in references_to(table)
                if key.table in own
            )
        )
        for table in shared()
    }
    every = {shops: shops.c.id.in_(ids), **own, **referred}
    return {table: its for table, its in every.items() if table not in LEFT_OUT}


def _rows(connection: Connection, table: Table, which: ColumnElement[bool]) -> Iterator[Row]:
    columns = [column for column in table.columns if column.info != SECRET]
    query = select(*columns).where(which).order_by(*table.primary_key)
    for row in connection.execute(query, execution_options={"yield_per": AT_ONCE}):
        values = zip(columns, row, strict=True)
        yield Row(table.name, {column.name: _plain(column, value) for column, value in values})


def _plain(column: Column[Any], value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    return json.loads(value) if value and column.info == JSON_TEXT else value
