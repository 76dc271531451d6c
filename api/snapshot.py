"""What a request works with: one pack, its decider, the store and the description, taken once.

It is that of the shop that asks, where this has put a pack of its own in force, else that of the service.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock
from typing import Protocol

from flask import Flask, current_app, g, request

from api.keys.scopes import OPEN, scope_of
from rules.decider import Decider
from rules.materials.identification.model import Tables
from rules.materials.identification.reading import tables_where_given
from rules.pack import Pack
from storage.audit import Who
from storage.sandboxes import real_shop
from storage.shops import LOCAL
from storage.store import Store

_KEY = "stagewright"
_GIVING = "stagewright-giving"


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

    `describe` writes the OpenAPI document as JSON, with the vocabulary of a pack. `activation` is the
    number of the activation that put the pack in force.
    """

    pack: Pack
    decider: Decider
    store: Store
    describe: Callable[[Pack], bytes] = field(compare=False, repr=False)
    activation: int = 0
    uses: Uses = field(default_factory=Uses, compare=False, repr=False)

    @cached_property
    def openapi(self) -> bytes:
        """The OpenAPI document."""
        return self.describe(self.pack)

    @cached_property
    def tables(self) -> Tables | None:
        """How a material is identified; None where the pack does not say."""
        return tables_where_given(self.pack)


class Giving(Protocol):
    """Gives requests their snapshots, and takes them back."""

    def take(self, shop: str) -> Snapshot:
        """What a request of a shop that begins now works with; counted as one more use."""

    def give_back(self, shop: str, snapshot: Snapshot) -> None:
        """Count one use less."""


def use(app: Flask, snapshot: Snapshot) -> None:
    """Let every request that begins from now on, and follows the service, work with `snapshot`."""
    app.extensions[_KEY] = snapshot


def in_use(app: Flask = current_app) -> Snapshot:
    """The snapshot that a request which begins now works with, where it follows the service."""
    snapshot: Snapshot = app.extensions[_KEY]
    return snapshot


def store_in_use() -> Store:
    """The store, for what asks for no rules."""
    return in_use().store


def at_hand() -> Snapshot:
    """The snapshot of this request where it has one, else that of the service."""
    taken: Snapshot | None = g.get("snapshot")
    return taken or in_use()


def give_by(app: Flask, giving: Giving) -> None:
    """Let requests of `app` have their snapshots from there."""
    app.extensions[_GIVING] = giving


def current() -> Snapshot:
    """The snapshot of this request, the same from its first use to its end."""
    if "snapshot" not in g:
        shop = _shop()
        g.snapshot = _giving().take(shop)
        g.snapshot_of = shop
    taken: Snapshot = g.snapshot
    return taken


def give_back(_error: BaseException | None) -> None:
    """At the end of every request."""
    snapshot: Snapshot | None = g.pop("snapshot", None)
    if snapshot is not None:
        _giving().give_back(g.pop("snapshot_of"), snapshot)


def _giving() -> Giving:
    giving: Giving = current_app.extensions[_GIVING]
    return giving


def _shop() -> str:
    """Whose rules this request is about; those of the service where it is nobody's.

    A sandbox works by the rules of its shop. Raises LookupError as long as it is not known whose it is.
    """
    caller: Who | None = g.get("caller")
    if caller is not None:
        return real_shop(caller.shop)
    if request.endpoint is not None and scope_of(current_app, request.endpoint) != OPEN:
        raise LookupError("it is not known yet whose request this is")
    return LOCAL
