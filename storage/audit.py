"""The audit: what was done to packs, estimates and keys, in a chain where no entry is changed unnoticed.

Every entry carries the SHA-256 of the hash before it and of its own canonical text. What the chain alone
can't show is that its last entries were taken away; the activations, which are held against it, do.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, Engine, func, insert, select

from storage.database import reading
from storage.records import Activation, canonical_text
from storage.tables import activations, audit

START = "0" * 64
"""Stands before the first entry."""

ACTIVATED = "pack.activated"
SHOP_DELETED = "shop.deleted"

_SERVICE = "local"
"""The shop of activations whose entries name none: there were no others once."""

Named = tuple[str, int]
"""An activation: its shop, and its number there."""


@dataclass(frozen=True)
class Who:
    """The shop that asked over HTTP, and the prefix of its key; None in an open service."""

    shop: str
    key: str | None


@dataclass(frozen=True)
class AuditReport:
    """How many entries the chain has, the hash of the last one, and everything that is wrong with it."""

    entries: int
    head: str
    faults: tuple[str, ...]


class Audit:
    """The chain of one database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def verify(self, known: str | None = None) -> AuditReport:
        """Walk the whole chain, and hold the activations against it.

        `known` is a hash that was the head once; it must still be in the chain.
        """
        with reading(self._engine) as connection:
            return _report(connection, known)


def append(
    connection: Connection, action: str, details: Mapping[str, Any], at: datetime, by: Who | None = None
) -> None:
    """Add an entry. The transaction must be one of `storage.database.writing`, which take turns.

    `by` is who asked for it over HTTP; None for what the service or a command did.
    """
    last = connection.execute(
        select(audit.c.number, audit.c.hash).order_by(audit.c.number.desc()).limit(1)
    ).first()
    number, previous = (1, START) if last is None else (last.number + 1, last.hash)
    told = {"number": number, "at": moment(at), "action": action, **details}
    entry = canonical_text(told if by is None else {**told, "by": {"shop": by.shop, "key": by.key}})
    connection.execute(
        insert(audit).values(number=number, entry=entry, previous=previous, hash=hash_of(previous, entry))
    )


def last_number(connection: Connection) -> int:
    """Of the entry that was added last; 0 before the first. It never goes back: no entry is ever removed."""
    return connection.scalar(select(func.max(audit.c.number))) or 0


def activation_details(activation: Activation) -> dict[str, Any]:
    """What the entry of an activation says; without a pack its shop follows the service."""
    return {
        "shop": activation.shop,
        "activation": activation.number,
        "pack": activation.pack_digest,
        "effective_from": moment(activation.effective_from),
        "origin": activation.origin,
    }


def hash_of(previous: str, entry: str) -> str:
    """SHA-256, in hexadecimal, of the hash before and the canonical text of an entry."""
    return sha256(f"{previous}\n{entry}".encode()).hexdigest()


def moment(at: datetime) -> str:
    """A point in time in UTC, always written alike."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def _report(connection: Connection, known: str | None) -> AuditReport:
    previous, number, entries, seen = START, 0, 0, {START}
    faults: list[str] = []
    told: dict[Named, Mapping[str, Any]] = {}
    for row in connection.execute(select(audit).order_by(audit.c.number)):
        entry = _entry(row.entry)
        if row.number != number + 1:
            faults.append(f"entry {number + 1} is missing")
        elif row.previous != previous:
            faults.append(f"entry {row.number} does not follow the one before it")
        if row.hash != hash_of(row.previous, row.entry) or entry.get("number") != row.number:
            faults.append(f"entry {row.number} was changed")
        _note(entry, told)
        previous, number, entries = row.hash, row.number, entries + 1
        seen.add(row.hash)
    if known is not None and known not in seen:
        faults.append(f"no entry has the hash {known}: entries were taken away")
    faults += _activations_untold(connection, told)
    return AuditReport(entries, previous, tuple(faults))


def _entry(text: str) -> Mapping[str, Any]:
    try:
        entry = json.loads(text)
    except ValueError:
        return {}
    return entry if isinstance(entry, dict) else {}


def _note(entry: Mapping[str, Any], told: dict[Named, Mapping[str, Any]]) -> None:
    """Note which activations there must be after an entry."""
    shop = str(entry.get("shop", _SERVICE))
    if entry.get("action") == ACTIVATED:
        told[shop, entry.get("activation", 0)] = {"shop": shop, **entry}
    elif entry.get("action") == SHOP_DELETED:
        for named in [named for named in told if named[0] == shop]:
            del told[named]


def _activations_untold(connection: Connection, told: Mapping[Named, Mapping[str, Any]]) -> Iterator[str]:
    there = set[Named]()
    for row in connection.execute(select(activations).order_by(activations.c.key)):
        named = row.shop, row.number
        there.add(named)
        if not activation_details(Activation(**row._mapping)).items() <= told.get(named, {}).items():
            yield f"{_in_words(named)} is not the one that was entered here"
    for named in sorted(told.keys() - there, key=str):
        yield f"{_in_words(named)} was entered here and is gone"


def _in_words(named: Named) -> str:
    shop, number = named
    return f"activation {number}" + ("" if shop == _SERVICE else f" of the shop '{shop}'")
