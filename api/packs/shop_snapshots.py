"""The snapshots of shops that have a pack of their own in force, each loaded when it is first asked for."""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from threading import Lock

from api.packs.reading import PackUnreadable
from api.snapshot import Snapshot
from rules.engines.limits import EngineLimit
from storage.records import Activation

_log = logging.getLogger("stagewright")


@dataclass(eq=False)
class _Decided:
    """What holds for a shop. `failure` says why its pack cannot be loaded, once that was tried."""

    activation: Activation
    loading: Lock = field(default_factory=Lock)
    failure: str | None = None


class ShopSnapshots:
    """Keeps the `most` snapshots used last; another one is closed after its last request has ended.

    `load` makes the snapshot of a decision. It is called outside of every lock that another shop waits for.
    """

    def __init__(self, load: Callable[[Activation], Snapshot], most: int) -> None:
        self._load = load
        self._most = most
        self._lock = Lock()
        self._decided: dict[str, _Decided] = {}
        self._loaded: OrderedDict[str, Snapshot] = OrderedDict()

    def decided(self, shop: str) -> Activation | None:
        """The decision of a shop that holds in this process; None before its first."""
        found = self._decided.get(shop)
        return None if found is None else found.activation

    def loaded(self) -> list[Snapshot]:
        """Those in memory."""
        with self._lock:
            return list(self._loaded.values())

    def enter(self, activation: Activation, snapshot: Snapshot | None = None) -> bool:
        """Let a decision hold, with its snapshot where there is one already; False where one as late does."""
        shop, retired = activation.shop, list[Snapshot]()
        with self._lock:
            known = self.decided(shop)
            is_new = known is None or known.key < activation.key
            if is_new:
                self._decided[shop] = _Decided(activation)
                retired += self._taken_out(shop)
            if snapshot is not None:
                retired += self._put(shop, snapshot) if is_new or known == activation else [snapshot]
        _retire(retired)
        return is_new

    def keep_only(self, shops: Iterable[str], key: int) -> None:
        """Forget the decisions up to `key` of all shops but these, as they hold no more."""
        with self._lock:
            others = self._decided.keys() - set(shops)
            gone = [shop for shop in others if self._decided[shop].activation.key <= key]
            for shop in gone:
                del self._decided[shop]
            retired = [snapshot for shop in gone for snapshot in self._taken_out(shop)]
        _retire(retired)

    def take(self, shop: str) -> Snapshot | None:
        """What a request of a shop works with, counted as a use; None where the shop follows the service.

        Raises PackUnreadable where the pack cannot be loaded, which is not tried again.
        """
        decided = self._decided.get(shop)
        if decided is None or decided.activation.follows:
            return None
        taken = self._begun(shop, decided)
        if taken is not None:
            return taken
        with decided.loading:
            if self._decided.get(shop) is decided:
                return self._begun(shop, decided) or self._loaded_anew(shop, decided)
        return self.take(shop)

    def _begun(self, shop: str, decided: _Decided) -> Snapshot | None:
        with self._lock:
            snapshot = self._loaded.get(shop)
            if snapshot is None or self._decided.get(shop) is not decided or not snapshot.uses.begin():
                return None
            self._loaded.move_to_end(shop)
            return snapshot

    def _loaded_anew(self, shop: str, decided: _Decided) -> Snapshot:
        if decided.failure is not None:
            raise PackUnreadable(decided.failure)
        try:
            snapshot = self._load(decided.activation)
        except (PackUnreadable, EngineLimit) as error:
            decided.failure = str(error)
            raise PackUnreadable(decided.failure) from error
        _log.info("loaded for the shop '%s': pack %s", shop, decided.activation.digest)
        snapshot.uses.begin()
        with self._lock:
            # Where another decision has come to hold meanwhile, this one still serves who asked for it.
            holds = self._decided.get(shop) is decided
            retired = self._put(shop, snapshot) if holds else [snapshot]
        _retire(retired)
        return snapshot

    def _put(self, shop: str, snapshot: Snapshot) -> list[Snapshot]:
        """Keep a snapshot; returns those that have to make room."""
        retired = self._taken_out(shop)
        self._loaded[shop] = snapshot
        while len(self._loaded) > self._most:
            retired.append(self._loaded.popitem(last=False)[1])
        return retired

    def _taken_out(self, shop: str) -> list[Snapshot]:
        return [self._loaded.pop(shop)] if shop in self._loaded else []


def _retire(snapshots: Iterable[Snapshot]) -> None:
    for snapshot in snapshots:
        snapshot.uses.close(snapshot.decider.engine.close)
