"""What a request works with: one pack, its decider, the store and the description, taken once."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Flask, current_app, g

from rules.decider import Decider
from rules.pack import Pack
from storage.store import Store

_KEY = "stagewright"


@dataclass(frozen=True)
class Snapshot:
    """Immutable; another pack means another snapshot, and requests under way keep theirs.

    `openapi` is the OpenAPI document as JSON, with the vocabulary of the pack.
    """

    pack: Pack
    decider: Decider
    store: Store
    openapi: bytes


def use(app: Flask, snapshot: Snapshot) -> None:
    """Let every request that begins from now on work with `snapshot`."""
    app.extensions[_KEY] = snapshot


def current() -> Snapshot:
    """The snapshot of this request, the same from its first use to its end."""
    if "snapshot" not in g:
        g.snapshot = current_app.extensions[_KEY]
    snapshot: Snapshot = g.snapshot
    return snapshot
