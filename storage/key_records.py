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
from storage.sandboxes import is_sandbox

LINE_ITEMS, RULES, ADMIN = "line-items", "rules", "admin"

SCOPES = {
    LINE_ITEMS: "issue and read procedures, report what they took, identify materials, read the catalogue",
    RULES: "upload, prove and compare rule packs, and put them in force",
    ADMIN: "freeze, reset and export what was learned, keep webhooks, end links, read the figures",
}
"""What a key may be for."""

_PREFIX_BYTES, _SECRET_BYTES = 5, 25
_SANDBOX = "sandbox_"
_WRITTEN = re.compile(rf"sw_({_SANDBOX})?([a-z2-7]{{8}})_([a-z2-7]{{40}})")


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

    def opens_with(self, written: WrittenKey) -> bool:
        """Whether this is its secret, and written as what it is; takes as long for a wrong one."""
        right = secrets.compare_digest(digest_of(written.secret).encode(), self.digest.encode())
        return right and written.sandbox == is_sandbox(self.shop)


@dataclass(frozen=True)
class WrittenKey:
    """A key as its owner has it: `sw_<prefix>_<secret>`. The secret is 200 random bits.

    That of a sandbox is `sw_sandbox_<prefix>_<secret>`, so that nobody takes it for a real one.
    """

    prefix: str
    secret: str
    sandbox: bool = False

    @property
    def text(self) -> str:
        return f"sw_{_SANDBOX if self.sandbox else ''}{self.prefix}_{self.secret}"

    def __repr__(self) -> str:
        """Without the secret, which must not get into a log."""
        return f"WrittenKey({self.prefix!r})"

    @classmethod
    def new(cls, sandbox: bool = False) -> WrittenKey:
        return cls(_letters(_PREFIX_BYTES), _letters(_SECRET_BYTES), sandbox)

    @classmethod
    def read(cls, text: str) -> WrittenKey | None:
        """None for what is not written like a key."""
        found = _WRITTEN.fullmatch(text)
        return found and cls(found[2], found[3], found[1] is not None)


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
