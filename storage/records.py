"""What the store keeps and gives back."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any, Generic, TypeVar

from storage.faults import CursorRefused

T = TypeVar("T")


@dataclass(frozen=True)
class KeptProcedure:
    """One issued procedure: `document` is the JSON-ready answer, `facts` what it was decided on.

    `reference` is the line item's. `issued_at` is when it was first kept; None until it is.
    """

    id: str
    reference: str
    pack_digest: str
    document: Mapping[str, Any]
    facts: Mapping[str, Any]
    issued_at: datetime | None = None


@dataclass(frozen=True)
class StatedFacts:
    """What a line item says to the rules: its material, as written, and the facts it gives, typed."""

    material: str
    facts: Mapping[str, Any]

    @property
    def key(self) -> str:
        """SHA-256, in hexadecimal, of material and facts: equal statements have equal keys."""
        return sha256(canonical_text([self.material, dict(self.facts)]).encode()).hexdigest()


@dataclass(frozen=True)
class Situation:
    """Line items of a shop that state the same and whose latest procedures come from one pack.

    `line_items` is how many; `reference` is one of them.
    """

    shop: str
    pack_digest: str
    stated: StatedFacts
    line_items: int
    reference: str


@dataclass(frozen=True)
class KeptPack:
    """A pack as a shop sees it: one of its own, or one of the service; `shop` says who keeps it.

    `proven` tells how its last proof ended, None where there was none. `laid_on` is the pack of the service
    that the overlay of a shop is laid on.
    """

    shop: str
    digest: str
    name: str
    version: str
    kept_at: datetime
    findings: Sequence[Mapping[str, Any]]
    proven: bool | None
    laid_on: str | None


@dataclass(frozen=True)
class KeptProof:
    """What the last proof of a pack found; `document` is JSON-ready."""

    passed: bool
    document: Mapping[str, Any]
    proven_at: datetime


@dataclass(frozen=True)
class Activation:
    """The decision of a shop that a pack is in force from a moment on, until one with a higher number is.

    `key` is the number of its audit entry, `number` counts those of the shop. Without a pack the shop follows
    the service. `origin` says who decided: `api`, `folder` (a watched one) or `start` of the service.
    """

    key: int
    shop: str
    number: int
    pack_digest: str | None
    effective_from: datetime
    activated_at: datetime
    origin: str

    @property
    def follows(self) -> bool:
        """Whether the shop has no pack of its own by it."""
        return self.pack_digest is None

    @property
    def digest(self) -> str:
        """Of the pack. Raises LookupError where the shop follows the service."""
        if self.pack_digest is None:
            raise LookupError(f"activation {self.number} of the shop '{self.shop}' names no pack")
        return self.pack_digest


@dataclass(frozen=True)
class Page(Generic[T]):
    """A stretch of a list; `next_cursor` continues it, None at the end."""

    items: tuple[T, ...]
    next_cursor: str | None


@dataclass(frozen=True)
class Position:
    """Where in a newest-first list a page ended: at what was kept at `moment` under `key`."""

    moment: datetime
    key: str

    def as_cursor(self) -> str:
        """Opaque text that is safe in a URL."""
        text = json.dumps([self.moment.isoformat(), self.key])
        return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")

    @classmethod
    def from_cursor(cls, cursor: str) -> Position:
        """Raises CursorRefused for any text that `as_cursor` does not give."""
        try:
            padded = cursor.encode() + b"=" * (-len(cursor) % 4)
            moment, key = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
            position = cls(datetime.fromisoformat(moment), str(key))
        except (ValueError, TypeError, RecursionError) as error:
            raise _refused(cursor) from error
        if position.as_cursor() != cursor or not position._could_be():
            raise _refused(cursor)
        return position

    def _could_be(self) -> bool:
        plain = self.key.isascii() and self.key.isprintable()
        return plain and self.moment.tzinfo == UTC


def _refused(cursor: str) -> CursorRefused:
    return CursorRefused(f"{cursor[:80]!r} is not a cursor of this list; use the one of the page before")


def json_text(value: object) -> str:
    """JSON text in the order of the members; plain ASCII, so that every database keeps every byte."""
    return json.dumps(value, separators=(",", ":"), allow_nan=False)


def canonical_text(value: object) -> str:
    """JSON text that is the same for equal values, whatever the order of their members."""
    return json.dumps(value, separators=(",", ":"), allow_nan=False, sort_keys=True)
