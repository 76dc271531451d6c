"""Takes away what shops share, such as stated facts, where nothing refers to it any more."""

from __future__ import annotations

from sqlalchemy import Connection, Table, delete, exists

from storage.belongings import references_to
from storage.database import hold


def remove_unused(connection: Connection, table: Table) -> None:
    """Remove the rows that nothing refers to; nobody begins to meanwhile."""
    hold(connection, table)
    used = (
        exists().where(*(each.parent == each.column for each in key.elements)) for key in references_to(table)
    )
    connection.execute(delete(table).where(*(~each for each in used)))
