"""What the signed links of a shop are signed with. A new secret ends every link that was given before."""

from __future__ import annotations

import secrets
from base64 import b32encode
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, bindparam, select, update

from storage import audit
from storage.audit import Who
from storage.database import guarded, inserting, writing
from storage.tables import link_secrets

REVOKED = "links.revoked"

_HANDLE_BYTES, _SECRET_BYTES = 10, 32


@dataclass(frozen=True)
class LinkSecret:
    """`handle` stands for the shop in its links and says nothing of it; `version` counts its secrets."""

    shop: str
    handle: str
    version: int
    secret: str = field(repr=False)


class Links:
    """The secrets of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def secret_of(self, shop: str) -> LinkSecret:
        """What links of a shop are signed with now; made when it is asked for first, once for everybody."""
        with guarded(self._engine), self._engine.connect() as connection:
            known = _found(connection, _BY_SHOP, shop)
        if known is not None:
            return known
        with guarded(self._engine), self._engine.begin() as connection:
            row = {"shop": shop, "handle": _handle(), "version": 1, **_new()}
            connection.execute(inserting(connection, link_secrets).values(row).on_conflict_do_nothing())
            made = _found(connection, _BY_SHOP, shop)
        assert made is not None
        return made

    def find(self, handle: str) -> LinkSecret | None:
        """The secret of the shop that a handle stands for."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _found(connection, _BY_HANDLE, handle)

    def revoke(self, shop: str, origin: str, by: Who | None = None) -> None:
        """End every link that a shop was given. `origin` says who decided, `by` who asked over HTTP."""
        with writing(self._engine) as connection:
            known = _found(connection, _BY_SHOP, shop)
            if known is None:
                return
            version = known.version + 1
            renewed = update(link_secrets).where(link_secrets.c.shop == shop)
            connection.execute(renewed.values(version=version, **_new()))
            told = {"shop": shop, "version": version, "origin": origin}
            audit.append(connection, REVOKED, told, datetime.now(UTC), by)


_BY_SHOP = select(link_secrets).where(link_secrets.c.shop == bindparam("named"))
_BY_HANDLE = select(link_secrets).where(link_secrets.c.handle == bindparam("named"))


def _found(connection: Connection, query: Select[Any], named: str) -> LinkSecret | None:
    row: Row[Any] | None = connection.execute(query, {"named": named}).first()
    return None if row is None else LinkSecret(row.shop, row.handle, row.version, row.secret)


def _handle() -> str:
    return b32encode(secrets.token_bytes(_HANDLE_BYTES)).decode().lower()


def _new() -> dict[str, Any]:
    return {"secret": secrets.token_hex(_SECRET_BYTES), "made_at": datetime.now(UTC)}
