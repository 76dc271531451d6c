"""Requests that were made with a key, so that the same one again gets the answer of the first.

Of many at once with one key, one is begun: the row is written by whoever comes first, in one statement.
A row lives until its end: a short time while somebody is at work on it, and a day once it was answered.
Where a process dies over its work, the key is free again after the short time.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import Enum
from uuid import uuid4

from sqlalchemy import ColumnElement, Connection, Engine, and_, bindparam, delete, select, update

from storage.database import guarded, inserting
from storage.records import json_text
from storage.tables import idempotency

LIFETIME = timedelta(hours=24)
"""So long an answer is kept."""

LEASE = timedelta(seconds=120)
"""So long a request may be at work before its key is given to another; far longer than any takes."""


@dataclass(frozen=True)
class Asked:
    """A request with its key; `digest` is one of all that it asks for, the same for the same request."""

    key: str
    digest: str


@dataclass(frozen=True)
class Begun:
    """Whoever holds it is to do the work, and then to call `finish` or `free`."""

    key: str
    token: str


@dataclass(frozen=True)
class GivenAnswer:
    """How a request was answered."""

    status: int
    headers: Mapping[str, str]
    body: bytes


class Taken(Enum):
    """Why a key can be neither begun nor answered."""

    RUNNING = "the first request with it is at work"
    DIFFERENT = "it was used for another request"


Outcome = Begun | GivenAnswer | Taken
Done = tuple[Begun, GivenAnswer]


class Idempotency:
    """The keys of one database, each shop's for itself. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def begin(self, shop: str, asked: Sequence[Asked], now: datetime | None = None) -> list[Outcome]:
        """What is to be done about requests with different keys: each begun, answered before, or taken."""
        now = now or datetime.now(UTC)
        found: dict[str, Outcome] = {}
        with guarded(self._engine), self._engine.begin() as connection:
            # In one order everywhere, so that nobody waits in a circle.
            for each in sorted(asked, key=lambda each: each.key):
                found[each.key] = _begin(connection, shop, each, now)
        return [found[each.key] for each in asked]

    def finish(self, shop: str, done: Sequence[Done], now: datetime | None = None) -> None:
        """Keep the answers of what was begun. Where another has begun it since, that one stands."""
        if done:
            with guarded(self._engine), self._engine.begin() as connection:
                keep_answers(connection, shop, done, now)

    def free(self, shop: str, begun: Sequence[Begun]) -> None:
        """Let the keys be used again: the work was not done. What was answered is not freed."""
        if not begun:
            return
        rows = [{"its_key": each.key, "its_token": each.token} for each in sorted(begun, key=_key_of)]
        with guarded(self._engine), self._engine.begin() as connection:
            unanswered = idempotency.c.status.is_(None)
            connection.execute(delete(idempotency).where(_held(shop), unanswered), rows)

    def remove_expired(self, now: datetime | None = None) -> int:
        """Remove what nobody will be answered with any more; returns how many."""
        ended = idempotency.c.expires_at <= (now or datetime.now(UTC))
        with guarded(self._engine), self._engine.begin() as connection:
            return connection.execute(delete(idempotency).where(ended)).rowcount


def keep_answers(
    connection: Connection, shop: str, done: Sequence[Done], now: datetime | None = None
) -> None:
    """Keep the answers of what was begun in the transaction of what was done."""
    if not done:
        return
    expires_at = (now or datetime.now(UTC)) + LIFETIME
    rows = [
        {"its_key": begun.key, "its_token": begun.token, "expires_at": expires_at, **_columns(given)}
        for begun, given in sorted(done, key=lambda each: each[0].key)
    ]
    connection.execute(update(idempotency).where(_held(shop)), rows)


def _key_of(begun: Begun) -> str:
    return begun.key


def _held(shop: str) -> ColumnElement[bool]:
    return and_(
        idempotency.c.shop == shop,
        idempotency.c.key == bindparam("its_key"),
        idempotency.c.token == bindparam("its_token"),
    )


def _begin(connection: Connection, shop: str, asked: Asked, now: datetime) -> Outcome:
    begun = Begun(asked.key, uuid4().hex)
    row = {"digest": asked.digest, "token": begun.token, "expires_at": now + LEASE}
    fresh = {**row, "status": None, "headers": None, "body": None}
    inserted = connection.execute(
        inserting(connection, idempotency)
        .values(shop=shop, key=asked.key, **row)
        .on_conflict_do_update(
            index_elements=idempotency.primary_key, set_=fresh, where=idempotency.c.expires_at <= now
        )
        .returning(idempotency.c.key)
    ).first()
    # A row that was not replaced is locked by the attempt, so it can't go away meanwhile.
    return begun if inserted is not None else _standing(connection, shop, asked)


def _standing(connection: Connection, shop: str, asked: Asked) -> Outcome:
    row = connection.execute(
        select(idempotency).where(idempotency.c.shop == shop, idempotency.c.key == asked.key)
    ).one()
    if row.digest != asked.digest:
        return Taken.DIFFERENT
    if row.status is None:
        return Taken.RUNNING
    return GivenAnswer(row.status, json.loads(row.headers), zlib.decompress(row.body))


def _columns(given: GivenAnswer) -> dict[str, object]:
    return {
        "status": given.status,
        "headers": json_text(dict(given.headers)),
        "body": zlib.compress(given.body),
    }
