"""Which tables hold something of a shop. Their foreign keys say so, so that none can be forgotten."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Column, Connection, ForeignKeyConstraint, MetaData, Table, select

from storage.tables import metadata, shops

OfShop = dict[Table, Column[str]]
"""Tables with rows of shops, each with its column that names the shop."""


def belongings(known: MetaData = metadata) -> OfShop:
    """Every table whose foreign keys lead to the shops; those that others hang on come first."""
    found: OfShop = {}
    for table in _others(known):
        for column in table.columns:
            if any(_names_shop(key.column, found) for key in column.foreign_keys):
                found[table] = column
    return found


def shared(known: MetaData = metadata) -> list[Table]:
    """Every table that rows of shops refer to, and that is of no shop."""
    own = belongings(known)
    referred = {key.referred_table for table in own for key in table.foreign_key_constraints}
    return [table for table in _others(known) if table in referred - own.keys()]


def references_to(table: Table) -> Iterator[ForeignKeyConstraint]:
    """Every foreign key by which a table refers to this one."""
    for other in table.metadata.sorted_tables:
        yield from (key for key in other.foreign_key_constraints if key.referred_table is table)


def with_sandbox(connection: Connection, shop: str) -> list[str]:
    """The id of a shop, after that of its sandbox where it has one."""
    return [*connection.scalars(select(shops.c.id).where(shops.c.sandbox_of == shop)), shop]


def _others(known: MetaData) -> list[Table]:
    return [table for table in known.sorted_tables if table.name != shops.name]


def _names_shop(column: Column[str], found: OfShop) -> bool:
    is_id = (column.table.name, column.name) == (shops.name, shops.c.id.name)
    return is_id or any(column is each for each in found.values())
