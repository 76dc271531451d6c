"""Takes a shop away, with its sandbox and everything that is its own, in one transaction.

What stays are the entries of the audit, whose chain is never changed: ids, names, prefixes of keys, hosts of
webhooks and digests of rule packs, with what was decided about them and when; and no line item.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, delete, func, select

from storage import audit
from storage.belongings import belongings, shared, with_sandbox
from storage.database import reading, take_time, writing
from storage.faults import ShopRefused
from storage.removing.unused import remove_unused
from storage.shops import LOCAL, refuse_unknown
from storage.tables import shops

Rows = Mapping[str, int]
"""How many rows, by the name of their table; those with any."""


class ShopRemoval:
    """Takes shops of one database away. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def rows(self, shop: str) -> Rows:
        """What would go with a shop. Raises ShopUnknown, and ShopRefused for that of the service."""
        with reading(self._engine) as connection:
            _refuse(connection, shop)
            ids = with_sandbox(connection, shop)
            counted = {
                table.name: connection.scalar(select(func.count()).select_from(table).where(named.in_(ids)))
                for table, named in belongings().items()
            }
        return {name: count for name, count in counted.items() if count}

    def delete(self, shop: str, origin: str) -> None:
        """Take away a shop and all that is its own. `origin` says who decided. Raises what `rows` does."""
        with writing(self._engine) as connection:
            take_time(connection)
            _refuse(connection, shop)
            ids, now = with_sandbox(connection, shop), datetime.now(UTC)
            # Whoever issues for them ends first, and nobody begins any more.
            connection.execute(select(shops).where(shops.c.id.in_(ids)).with_for_update())
            for table, named in reversed(belongings().items()):
                connection.execute(delete(table).where(named.in_(ids)))
            connection.execute(delete(shops).where(shops.c.id.in_(ids)))
            for table in shared():
                remove_unused(connection, table)
            for each in ids:
                audit.append(connection, audit.SHOP_DELETED, {"shop": each, "origin": origin}, now)


def _refuse(connection: Connection, shop: str) -> None:
    refuse_unknown(connection, shop)
    if shop == LOCAL:
        raise ShopRefused(f"the shop '{LOCAL}' runs the service, so it stays")
