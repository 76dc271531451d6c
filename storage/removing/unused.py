"""Takes away what shops share, such as stated facts, where nothing refers to it any more."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import ColumnElement, Connection, Table, delete, exists

from storage.belongings import references_to
from storage.database import hold


def remove_unused(connection: Connection, table: Table, *which: ColumnElement[bool]) -> None:
    """Remove the rows, of `which` where that is said, that nothing refers to; nobody begins to meanwhile."""
    hold(connection, table)
    connection.execute(delete(table).where(*which, *_unused(table)))


def _unused(table: Table) -> Iterator[ColumnElement[bool]]:
    for key in references_to(table):
        yield ~exists().where(*(each.parent == each.column for each in key.elements))
