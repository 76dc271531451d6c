"""Empties the sandbox of a shop: what was issued in it and is set up there goes, its keys stay."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Engine, delete, select

from storage import audit
from storage.belongings import belongings, shared
from storage.database import take_time, writing
from storage.faults import ShopUnknown
from storage.removing.unused import remove_unused
from storage.sandboxes import sandbox_id
from storage.shops import refuse_unknown
from storage.tables import api_keys, shops

EMPTIED = "sandbox.emptied"


class SandboxReset:
    """That of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def empty(self, shop: str, origin: str) -> None:
        """Empty the sandbox of a shop, whose key is as good as before. `origin` says who decided.

        Raises ShopUnknown, also where the shop has no sandbox.
        """
        sandbox = sandbox_id(shop)
        with writing(self._engine) as connection:
            take_time(connection)
            refuse_unknown(connection, shop)
            # Whoever issues there ends first, and nobody begins any more.
            held = select(shops.c.id).where(shops.c.id == sandbox).with_for_update()
            if connection.scalar(held) is None:
                raise ShopUnknown(f"the shop '{shop}' has no sandbox; a first key with `sandbox` makes it")
            for table, named in reversed(belongings().items()):
                if table is not api_keys:
                    connection.execute(delete(table).where(named == sandbox))
            for table in shared():
                remove_unused(connection, table)
            told = {"shop": shop, "sandbox": sandbox, "origin": origin}
            audit.append(connection, EMPTIED, told, datetime.now(UTC))
