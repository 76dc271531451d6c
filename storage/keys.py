"""The keys of shops. Of a secret only its SHA-256 is kept; every change writes its audit entry."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, Row, bindparam, insert, or_, select, update

from storage import audit
from storage.database import guarded, writing
from storage.faults import KeyEnded, KeyUnknown, ScopesRefused
from storage.key_records import RULES, SCOPES, Key, WrittenKey, digest_of, scopes_of
from storage.sandboxes import is_sandbox, make_sandbox, refuse_sandbox, sandbox_id
from storage.shops import LOCAL, refuse_unknown
from storage.tables import api_keys

USED_EVERY = timedelta(hours=1)
"""So coarse is `last_used_at`: most requests only read."""

FIRST = "first key"


class Keys:
    """The keys of one database. Every method may raise StoreUnavailable.

    `origin` says who decided: `command line`, or `start` of the service.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def find(self, written: WrittenKey, at: datetime) -> Key | None:
        """The key, where it holds at that moment and its secret is right."""
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(_BY_PREFIX, {"named": written.prefix}).first()
        key = None if row is None else _key(row)
        return key if key and key.opens_with(written) and key.holds(at) else None

    def all(self, shop: str | None = None) -> tuple[Key, ...]:
        """Every key, of a shop and its sandbox where one is named, in the order they were made."""
        query = select(api_keys).order_by(api_keys.c.created_at, api_keys.c.prefix)
        if shop is not None:
            query = query.where(api_keys.c.shop.in_((shop, sandbox_id(shop))))
        with guarded(self._engine), self._engine.connect() as connection:
            if shop is not None:
                refuse_unknown(connection, shop)
            return tuple(_key(row) for row in connection.execute(query))

    def create(
        self,
        shop: str,
        name: str,
        scopes: Iterable[str],
        origin: str,
        expires_at: datetime | None = None,
        sandbox: bool = False,
    ) -> WrittenKey:
        """A new key of a shop, or of its `sandbox`; nobody can read it again.

        A sandbox works by the rules of its shop, so no key of it is for those. Raises ShopUnknown and
        ScopesRefused, and ShopRefused for what is a sandbox or can't have one.
        """
        wanted = scopes_of(scopes)
        if sandbox and RULES in wanted:
            raise ScopesRefused(f"a sandbox works by the rules of its shop; leave out the scope '{RULES}'")
        with writing(self._engine) as connection:
            refuse_unknown(connection, shop)
            refuse_sandbox(shop)
            if sandbox:
                shop = make_sandbox(connection, shop, origin, datetime.now(UTC))
            return _create(connection, shop, name, wanted, origin, expires_at)

    def create_first(self, origin: str) -> WrittenKey | None:
        """A key of the shop of the service that is for everything; None where there is any key."""
        with writing(self._engine) as connection:
            if connection.execute(select(api_keys.c.prefix).limit(1)).first() is not None:
                return None
            return _create(connection, LOCAL, FIRST, tuple(SCOPES), origin, None)

    def revoke(self, prefix: str, origin: str) -> None:
        """Let a key hold no longer, from now on. Once is enough. Raises KeyUnknown."""
        with writing(self._engine) as connection:
            key, now = _by_prefix(connection, prefix), datetime.now(UTC)
            if key.revoked_at is None:
                _change(connection, prefix, revoked_at=now)
                audit.append(connection, "key.revoked", _told(key, origin), now)

    def rotate(
        self, prefix: str, until: datetime, origin: str, expires_at: datetime | None = None
    ) -> WrittenKey:
        """A new key like an old one, which holds until `until` at the latest.

        Without `expires_at` the new one holds as long as the old one was made for. Raises KeyUnknown, and
        KeyEnded where the old one does not hold any more or was rotated before.
        """
        with writing(self._engine) as connection:
            old, now = _by_prefix(connection, prefix), datetime.now(UTC)
            _refuse_ended(old, now)
            if expires_at is None and old.expires_at is not None:
                expires_at = now + (old.expires_at - old.created_at)
            new = _create(connection, old.shop, old.name, old.scopes, origin, expires_at)
            ends = until if old.expires_at is None else min(until, old.expires_at)
            _change(connection, prefix, expires_at=ends, replaced_by=new.prefix)
            told = {**_told(old, origin), "until": audit.moment(ends), "replaced_by": new.prefix}
            audit.append(connection, "key.rotated", told, now)
        return new

    def note_use(self, key: Key, at: datetime) -> None:
        """Remember that a key is in use, where that was not remembered within the hour."""
        before = at - USED_EVERY
        if key.last_used_at is not None and key.last_used_at > before:
            return
        unknown = or_(api_keys.c.last_used_at.is_(None), api_keys.c.last_used_at <= before)
        hour = at.replace(minute=0, second=0, microsecond=0)
        with guarded(self._engine), self._engine.begin() as connection:
            connection.execute(
                update(api_keys).where(api_keys.c.prefix == key.prefix, unknown).values(last_used_at=hour)
            )


# Made once, as every request looks up its key.
_BY_PREFIX = select(api_keys).where(api_keys.c.prefix == bindparam("named"))


def _create(
    connection: Connection,
    shop: str,
    name: str,
    scopes: tuple[str, ...],
    origin: str,
    expires_at: datetime | None,
) -> WrittenKey:
    written, now = WrittenKey.new(is_sandbox(shop)), datetime.now(UTC)
    key = Key(written.prefix, shop, name, digest_of(written.secret), scopes, now, expires_at)
    row = {member: getattr(key, member) for member in _MEMBERS} | {"scopes": " ".join(scopes)}
    connection.execute(insert(api_keys).values(row))
    ends = None if expires_at is None else audit.moment(expires_at)
    told = {**_told(key, origin), "name": name, "scopes": list(scopes), "expires_at": ends}
    audit.append(connection, "key.created", told, now)
    return written


def _by_prefix(connection: Connection, prefix: str) -> Key:
    row = connection.execute(_BY_PREFIX, {"named": prefix}).first()
    if row is None:
        raise KeyUnknown(f"no key has the prefix '{prefix[:80]}'; `stagewright keys list` shows them")
    return _key(row)


def _refuse_ended(key: Key, now: datetime) -> None:
    if key.replaced_by is not None:
        raise KeyEnded(f"the key {key.prefix} was rotated to {key.replaced_by}; rotate that one")
    if not key.holds(now):
        raise KeyEnded(f"the key {key.prefix} holds no longer; create another one")


def _change(connection: Connection, prefix: str, **columns: Any) -> None:
    connection.execute(update(api_keys).where(api_keys.c.prefix == prefix).values(**columns))


def _told(key: Key, origin: str) -> dict[str, Any]:
    return {"key": key.prefix, "shop": key.shop, "origin": origin}


_MEMBERS = tuple(Key.__dataclass_fields__)


def _key(row: Row[Any]) -> Key:
    members = {member: getattr(row, member) for member in _MEMBERS}
    return Key(**{**members, "scopes": tuple(row.scopes.split())})
