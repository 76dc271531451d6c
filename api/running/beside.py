"""What a process of the service does beside answering."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Flask

from api.packs.at_work import active_pack
from api.packs.background import Repeating
from api.snapshot import in_use

FOLLOW_EVERY_S = 1.0
REMOVE_EVERY_S = 600.0


def beside(app: Flask) -> Iterator[Repeating]:
    """The work that every process does, not started yet."""
    yield Repeating("following what is in force", FOLLOW_EVERY_S, active_pack(app).follow)
    keys = in_use(app).store.idempotency
    yield Repeating("removing expired idempotency keys", REMOVE_EVERY_S, keys.remove_expired)
