"""The secrets of a webhook: the present one, and those before it that still sign until their end.

Each keeps its own end, so that rotating twice takes no receiver's secret away early.
"""

from __future__ import annotations

import json
import secrets
from base64 import b64encode
from collections.abc import Sequence
from datetime import datetime, timedelta

from storage.records import json_text

MOST_BEFORE = 4
"""So many secrets before the present one may sign: every one makes each request longer."""

_BYTES = 32

Held = tuple[str, datetime | None]
"""A secret and when it ends; the present one does not."""


def new_secret() -> str:
    """As Standard Webhooks writes them; 256 random bits."""
    return f"whsec_{b64encode(secrets.token_bytes(_BYTES)).decode()}"


def as_text(held: Sequence[Held]) -> str:
    """As it is kept."""
    return json_text([[secret, end and end.isoformat()] for secret, end in held])


def holding(text: str, now: datetime) -> list[Held]:
    """Those that sign at a moment, the present one first, then the youngest."""
    read = ((secret, end and datetime.fromisoformat(end)) for secret, end in json.loads(text))
    return [(secret, end) for secret, end in read if end is None or end > now]


def rotated(text: str, secret: str, grace: timedelta, now: datetime) -> str:
    """With a new present one; the one before ends after `grace`, and without one all before end now."""
    (present, _), *before = holding(text, now)
    held = [(present, now + grace), *before][:MOST_BEFORE] if grace > timedelta(0) else []
    return as_text([(secret, None), *held])
