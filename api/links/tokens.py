"""The token in a signed link: what it is for, in plain text, and a signature over that.

Its form is fixed to the character, and the whole of it is written anew and compared: a token that was
changed in any way is another one, also where a reader of base64 would not see it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from hmac import compare_digest

from itsdangerous import Signer

from storage.links import LinkSecret

_TOKEN = re.compile(
    r"([a-z2-7]{16})\.([1-9][0-9]{0,8})\.([1-9][0-9]{0,10})\.(pr-[0-9a-f]{32})\.[A-Za-z0-9_-]{43}"
)


@dataclass(frozen=True)
class Claims:
    """What a link opens: a procedure of the shop that `handle` stands for, until `expires_at`.

    `version` is that of the secret it is signed with. `expires_at` has no fraction of a second.
    """

    handle: str
    version: int
    expires_at: datetime
    procedure_id: str


def written(claims: Claims, opens: str, secret: LinkSecret) -> str:
    """The token of a link that opens this form of the procedure, such as `timeline`, and no other."""
    signer = Signer(
        bytes.fromhex(secret.secret),
        salt=f"stagewright.links.{opens}",
        key_derivation="hmac",
        digest_method=sha256,
    )
    expires_s = int(claims.expires_at.timestamp())
    text = f"{claims.handle}.{claims.version}.{expires_s}.{claims.procedure_id}"
    return signer.sign(text).decode("ascii")


def read(token: str) -> Claims | None:
    """What a token claims, which anybody can write; None where it has another form."""
    found = _TOKEN.fullmatch(token)
    if found is None:
        return None
    handle, version, expires_s, procedure_id = found.groups()
    return Claims(handle, int(version), datetime.fromtimestamp(int(expires_s), UTC), procedure_id)


def is_genuine(token: str, claims: Claims, opens: str, secret: LinkSecret) -> bool:
    """Whether a token with these claims was signed with this secret, to open this; takes as long if not."""
    genuine = written(claims, opens, secret)
    return compare_digest(genuine.encode(), token.encode()) and claims.version == secret.version
