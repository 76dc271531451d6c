"""What the store keeps and gives back."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from storage.faults import CursorRefused


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
class Page:
    """A stretch of a list; `next_cursor` continues it, None at the end."""

    items: tuple[KeptProcedure, ...]
    next_cursor: str | None


@dataclass(frozen=True)
class Position:
    """Where in a newest-first list a page ended."""

    issued_at: datetime
    procedure_id: str

    def as_cursor(self) -> str:
        """Opaque text that is safe in a URL."""
        text = json.dumps([self.issued_at.isoformat(), self.procedure_id])
        return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")

    @classmethod
    def from_cursor(cls, cursor: str) -> Position:
        """Raises CursorRefused for any text that `as_cursor` does not give."""
        try:
            padded = cursor.encode() + b"=" * (-len(cursor) % 4)
            issued_at, procedure_id = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
            position = cls(datetime.fromisoformat(issued_at), str(procedure_id))
        except (ValueError, TypeError, RecursionError) as error:
            raise _refused(cursor) from error
        if position.as_cursor() != cursor or not position._could_be():
            raise _refused(cursor)
        return position

    def _could_be(self) -> bool:
        plain = self.procedure_id.isascii() and self.procedure_id.isprintable()
        return plain and self.issued_at.tzinfo == UTC


def _refused(cursor: str) -> CursorRefused:
    return CursorRefused(f"{cursor[:80]!r} is not a cursor of this list; use the one of the page before")


def json_text(value: object) -> str:
    """JSON text in the order of the members; plain ASCII, so that every database keeps every byte."""
    return json.dumps(value, separators=(",", ":"), allow_nan=False)
