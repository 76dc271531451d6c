"""What a process of the service does beside answering."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from flask import Flask

from api.packs.at_work import active_pack
from api.packs.background import Repeating
from api.running.wearing import leave_if_worn_out
from api.snapshot import in_use

FOLLOW_EVERY_S = 1.0
REMOVE_EVERY_S = 600.0
LOOK_EVERY_S = 1.0


def beside(app: Flask, leave: Callable[[], object]) -> Iterator[Repeating]:
    """The work that every process does, not started yet; `leave` ends the process once it can't go on."""
    yield Repeating("following what is in force", FOLLOW_EVERY_S, active_pack(app).follow)
    keys = in_use(app).store.idempotency
    yield Repeating("removing expired idempotency keys", REMOVE_EVERY_S, keys.remove_expired)
    yield Repeating("looking after the engines", LOOK_EVERY_S, partial(leave_if_worn_out, app, leave))
