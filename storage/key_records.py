"""Keys: how they are written, what is kept of them, and what they allow."""

from __future__ import annotations

import re
import secrets
from base64 import b32encode
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from storage.faults import ScopesRefused

LINE_ITEMS, RULES, ADMIN = "line-items", "rules", "admin"

SCOPES = {
    LINE_ITEMS: "issue and read procedures, report what they took, identify materials, read the catalogue",
    RULES: "upload, prove and compare rule packs, and put them in force",
    ADMIN: "freeze, reset and export what was learned, read the figures of the service",
}
"""What a key may be for."""

_PREFIX_BYTES, _SECRET_BYTES = 5, 25
_WRITTEN = re.compile(r"sw_([a-z2-7]{8})_([a-z2-7]{40})")


@dataclass(frozen=True)
class Key:
    """What is kept of a key. `prefix` names it and is no secret; `digest` is of its secret.

    `expires_at` None: it holds until it is revoked. `last_used_at` is true to the hour. `replaced_by` is the
    prefix of the key that it was rotated to.
    """

    prefix: str
    shop: str
    name: str
    digest: str
    scopes: tuple[str, ...]
    created_at: datetime
    expires_at: datetime | None = None
    revoked_at: datetime | None = None
    last_used_at: datetime | None = None
    replaced_by: str | None = None

    def holds(self, at: datetime) -> bool:
        """Whether it is neither revoked nor expired."""
        return self.revoked_at is None and (self.expires_at is None or at < self.expires_at)

    def opens_with(self, secret: str) -> bool:
        """Whether this is its secret; takes as long for a wrong one."""
        return secrets.compare_digest(digest_of(secret).encode(), self.digest.encode())


@dataclass(frozen=True)
class WrittenKey:
    """A key as its owner has it: `sw_<prefix>_<secret>`. The secret is 200 random bits."""

    prefix: str
    secret: str

    @property
    def text(self) -> str:
        return f"sw_{self.prefix}_{self.secret}"

    def __repr__(self) -> str:
        """Without the secret, which must not get into a log."""
        return f"WrittenKey({self.prefix!r})"

    @classmethod
    def new(cls) -> WrittenKey:
        return cls(_letters(_PREFIX_BYTES), _letters(_SECRET_BYTES))

    @classmethod
    def read(cls, text: str) -> WrittenKey | None:
        """None for what is not written like a key."""
        found = _WRITTEN.fullmatch(text)
        return found and cls(found[1], found[2])


def digest_of(secret: str) -> str:
    """SHA-256 in hexadecimal; enough for a secret that nobody chose."""
    return sha256(secret.encode()).hexdigest()


def scopes_of(named: Iterable[str]) -> tuple[str, ...]:
    """Each once, in the order of SCOPES. Raises ScopesRefused for none, and for one that there is not."""
    wanted = set(named)
    unknown = sorted(wanted - SCOPES.keys())
    if unknown or not wanted:
        told = f"'{unknown[0]}' is not a scope" if unknown else "a key without a scope allows nothing"
        raise ScopesRefused(f"{told}; there are {', '.join(SCOPES)}")
    return tuple(scope for scope in SCOPES if scope in wanted)


def _letters(count: int) -> str:
    return b32encode(secrets.token_bytes(count)).decode().lower()
