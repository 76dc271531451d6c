"""What a request works with: one pack, its decider, the store and the description, taken once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock

from flask import Flask, current_app, g

from rules.decider import Decider
from rules.materials.identification.model import Tables
from rules.materials.identification.reading import tables_where_given
from rules.pack import Pack
from storage.store import Store

_KEY = "stagewright"


class Uses:
    """Counts the requests that work with a snapshot, so that its engine is closed after the last."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._count = 0
        self._at_end: Callable[[], object] | None = None

    def begin(self) -> bool:
        """Count one more; False where the snapshot is no longer to be taken."""
        with self._lock:
            if self._at_end is not None:
                return False
            self._count += 1
            return True

    def end(self) -> None:
        """Count one less; the last one after `close` closes."""
        with self._lock:
            self._count -= 1
            at_end = None if self._count else self._at_end
        if at_end is not None:
            at_end()

    def close(self, at_end: Callable[[], object]) -> None:
        """Let nobody begin any more, and call `at_end` once everybody who did has ended."""
        with self._lock:
            self._at_end = at_end
            ended = self._count == 0
        if ended:
            at_end()


@dataclass(frozen=True)
class Snapshot:
    """Immutable; another pack means another snapshot, and requests under way keep theirs.

    `openapi` is the OpenAPI document as JSON, with the vocabulary of the pack. `activation` is the
    number of the activation that put the pack in force.
    """

    pack: Pack
    decider: Decider
    store: Store
    openapi: bytes
    activation: int = 0
    uses: Uses = field(default_factory=Uses, compare=False, repr=False)

    @cached_property
    def tables(self) -> Tables | None:
        """How a material is identified; None where the pack does not say."""
        return tables_where_given(self.pack)


def use(app: Flask, snapshot: Snapshot) -> None:
    """Let every request that begins from now on work with `snapshot`."""
    app.extensions[_KEY] = snapshot


def in_use(app: Flask) -> Snapshot:
    """The snapshot that a request which begins now works with."""
    snapshot: Snapshot = app.extensions[_KEY]
    return snapshot


def current() -> Snapshot:
    """The snapshot of this request, the same from its first use to its end."""
    closed: Snapshot | None = None
    while "snapshot" not in g:
        snapshot = in_use(current_app)
        if snapshot is closed:
            raise RuntimeError("the snapshot in use was closed before another took its place")
        if snapshot.uses.begin():
            g.snapshot = snapshot
        closed = snapshot
    taken: Snapshot = g.snapshot
    return taken


def give_back(_error: BaseException | None) -> None:
    """At the end of every request."""
    snapshot: Snapshot | None = g.pop("snapshot", None)
    if snapshot is not None:
        snapshot.uses.end()
