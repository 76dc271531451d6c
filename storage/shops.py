"""The shops that a service works for. What one is issued no other sees."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, select, update

from storage import audit
from storage.database import guarded, inserting, writing
from storage.faults import ShopRefused, ShopUnknown
from storage.tables import shops

LOCAL = "local"
"""The shop that runs the service; an open service works for it alone."""

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LONGEST_ID = 56  # leaves room for the id of a sandbox


@dataclass(frozen=True)
class Shop:
    """A shop; `name` is for people.

    Line items that were issued last before `keep_days` may be removed; None: the shop does not say.
    """

    id: str
    name: str
    created_at: datetime
    keep_days: int | None = None


class Shops:
    """The shops of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def create(self, shop_id: str, name: str, origin: str) -> Shop:
        """A new shop. Raises ShopRefused for an id that is taken or not written like one."""
        if len(shop_id) > _LONGEST_ID or not _ID.fullmatch(shop_id):
            form = f"small letters, digits and single hyphens, a letter first, at most {_LONGEST_ID}"
            raise ShopRefused(f"'{shop_id[:80]}' cannot be the id of a shop; write {form}")
        shop = Shop(shop_id, name, datetime.now(UTC))
        row = {"id": shop.id, "name": shop.name, "created_at": shop.created_at}
        with writing(self._engine) as connection:
            added = connection.execute(
                inserting(connection, shops).values(row).on_conflict_do_nothing().returning(shops.c.id)
            )
            if added.first() is None:
                raise ShopRefused(f"there is a shop '{shop_id}' already; choose another id")
            told = {"shop": shop.id, "name": shop.name, "origin": origin}
            audit.append(connection, "shop.created", told, shop.created_at)
        return shop

    def keep(self, shop: str, days: int | None, origin: str) -> None:
        """Let a shop say how long its line items are kept, None: no more. Raises ShopUnknown."""
        with writing(self._engine) as connection:
            refuse_unknown(connection, shop)
            connection.execute(update(shops).where(shops.c.id == shop).values(keep_days=days))
            told = {"shop": shop, "keep_days": days, "origin": origin}
            audit.append(connection, "shop.retention_set", told, datetime.now(UTC))

    def refuse_unknown(self, shop: str) -> None:
        """Raises ShopUnknown, which names the shops that there are."""
        with guarded(self._engine), self._engine.connect() as connection:
            refuse_unknown(connection, shop)

    def all(self) -> tuple[Shop, ...]:
        """Every shop, by its id."""
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(select(shops).order_by(shops.c.id)).all()
        return tuple(Shop(row.id, row.name, row.created_at, row.keep_days) for row in rows)


def refuse_unknown(connection: Connection, shop: str) -> None:
    """The same inside a transaction."""
    known = connection.scalars(select(shops.c.id).order_by(shops.c.id)).all()
    if shop not in known:
        raise ShopUnknown(f"there is no shop '{shop[:80]}'; there are {', '.join(known)}")
