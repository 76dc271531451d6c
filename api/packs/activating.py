"""What is in force, for the service and for every shop: changed here and nowhere else, whoever asks for it.

Whatever fails while another pack is made ready, the one in force stays. What is decided is one row of the
database, entered with its audit entry in one transaction; only then do requests see the new snapshot. A
process that dies in between finds the decision when it starts again.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from datetime import UTC, datetime, timedelta
from threading import Lock

from flask import Flask

from api.packs.reading import Files, PackUnreadable
from api.packs.service_pack import ServicePack, nobody
from api.packs.shop_snapshots import ShopSnapshots
from api.packs.telling import Telling
from api.snapshot import Snapshot
from rules.loading import Checked
from rules.pack import Pack
from storage.activations import State
from storage.audit import Who
from storage.records import Activation
from storage.shops import LOCAL
from storage.store import Store

RECENT = timedelta(hours=1)
"""So long after a decision has come to hold a process that starts tells once more whom it concerns."""


class PackOutOfDate(ValueError):
    """The pack itself says that it does not hold at that time."""


class ActivePack:
    """What is in force in this process: the pack of the service, and those of shops that have their own.

    `build` makes the snapshot of a pack and activation number; those of `most` shops are kept ready.
    """

    def __init__(
        self, app: Flask, store: Store, build: Callable[[Pack, int], Snapshot], most: int = 16
    ) -> None:
        self._store = store
        self._turn = Lock()
        self._seen: State | None = None
        self._service = ServicePack(app, store, build)
        self._telling = Telling(store, self._governing, self._pack_of, self.find_pack)
        self.shops = ShopSnapshots(self._service.load, most)

    def start(self, checked: Checked) -> None:
        """Begin with what is in force by the database; where nothing is, with the pack checked.

        Raises PackRefused where neither can be used, EngineLimit where the checked one is needed and
        the engine cannot take it.
        """
        self._service.start(checked)
        self._telling.note(LOCAL)
        now = datetime.now(UTC)
        for activation in self._store.activations.decided_by_shop(now).values():
            if activation.shop != LOCAL:
                self.shops.enter(activation)
                held_since, decided_at = activation.effective_from, activation.activated_at
                if held_since > decided_at or held_since > now - RECENT:
                    self._telling.note(activation.shop)

    def take(self, shop: str) -> Snapshot:
        """The snapshot for a request of a shop. Raises PackUnreadable."""
        return self.shops.take(shop) or self._service.take()

    def give_back(self, shop: str, snapshot: Snapshot) -> None:
        """A request of a shop has ended."""
        snapshot.uses.end()
        if snapshot.pack.digest != self.digest_for(shop):
            self._telling.note(shop)

    def digest_for(self, shop: str) -> str:
        """Of the pack that a shop works by."""
        decided = self.shops.decided(shop)
        return self._service.pack.digest if decided is None or decided.follows else decided.digest

    def below(self, shop: str) -> tuple[list[Files], str | None]:
        """What an overlay of a shop is laid on, lowest pack first, and its digest: all that the service has.

        One of the service itself is laid on its base alone.
        """
        if shop == LOCAL:
            return [self._service.base], None
        pack = self._service.pack
        return list(pack.files.values()), pack.digest

    def find_pack(self, digest: str) -> Pack | None:
        """Any kept pack by its digest, whoever keeps it; None where there is none that can be read."""
        return self._service.find(digest)

    def activate(
        self,
        shop: str,
        digest: str | None,
        after: int,
        origin: str,
        effective_from: datetime | None = None,
        once_more: bool = False,
        by: Who | None = None,
    ) -> Activation:
        """Put a pack that a shop keeps in force for it, or, without a digest, let it follow the service.

        At once or from a moment on; `after` is the shop's decision before. `once_more` is for a pack that was
        in force before: neither its dates nor its proof are looked at. Raises PackUnreadable, EngineLimit,
        ActivationConflict, PackNotProven and PackOutOfDate.
        """
        enter, proven = self._store.activations.activate, not once_more
        with self._turn if shop == LOCAL else nullcontext():
            pack = self._made_ready(shop, digest, None if once_more else effective_from or datetime.now(UTC))
            if effective_from is not None:
                # Whom it concerns is found out then.
                return enter(shop, digest, after, origin, nobody, effective_from, proven, by)
            snapshot = None if digest is None else self._service.build(pack, after + 1)
            try:
                changed = self._telling.comparison(shop, pack).changed
                activation = enter(shop, digest, after, origin, changed, needs_proof=proven, by=by)
            except BaseException:
                if snapshot is not None:
                    snapshot.decider.engine.close()
                raise
            self._hold(activation, snapshot)
            return activation

    def follow(self) -> None:
        """Take over what has come to hold meanwhile, by the clock or by another process.

        To be called again and again.
        """
        state = self._store.activations.state(datetime.now(UTC))
        if state != self._seen:
            last_entry, _ = state
            # By a later clock than the state: what was decided up to the entry has come to hold.
            self._catch_up(self._store.activations.decided_by_shop(datetime.now(UTC)), last_entry)
            self._seen = state
        self._telling.some()

    def _catch_up(self, decided: dict[str, Activation], last_entry: int) -> None:
        self.shops.keep_only(decided, last_entry)
        for activation in decided.values():
            if activation.shop != LOCAL and self.shops.enter(activation):
                self._telling.note(activation.shop)
        if LOCAL in decided:
            with self._turn:
                snapshot = self._service.overtaken_by(decided[LOCAL])
                if snapshot is not None:
                    self._hold(decided[LOCAL], snapshot)

    def _hold(self, activation: Activation, snapshot: Snapshot | None) -> None:
        """Let requests work by a decision that was entered."""
        if activation.shop != LOCAL:
            self.shops.enter(activation, snapshot)
        elif snapshot is not None:
            self._service.change(activation, snapshot)
        # Requests that ended between the decision and now are untold.
        self._telling.note(activation.shop)

    def _made_ready(self, shop: str, digest: str | None, at: datetime | None) -> Pack:
        """The pack that is to be in force from `at` on; None: it was before."""
        if digest is None:
            return self._service.pack
        if at is not None:
            # Before an engine is built for it in this process, not only in the transaction.
            self._store.packs.refuse_unproven(shop, digest)
        pack = self.find_pack(digest)
        if pack is None:
            raise PackUnreadable(f"the pack {digest} is not kept, or cannot be read any more")
        if at is not None:
            _check_dates(pack, at)
        return pack

    def _governing(self, shop: str) -> Activation:
        """The decision by which a shop works: that of the service where it follows, and this decided last."""
        own, service = self.shops.decided(shop), self._service.activation
        if own is None or (own.follows and own.effective_from <= service.effective_from):
            return service
        return own

    def _pack_of(self, activation: Activation) -> Pack | None:
        if activation.follows:
            return self._service.pack
        loaded = (snapshot.pack for snapshot in self.shops.loaded())
        at_hand = next((pack for pack in loaded if pack.digest == activation.digest), None)
        return at_hand or self.find_pack(activation.digest)


def _check_dates(pack: Pack, at: datetime) -> None:
    day = at.astimezone(UTC).date()
    first, last = pack.effective_from, pack.effective_until
    if day < first or (last is not None and day > last):
        until = "" if last is None else f" until {last}"
        raise PackOutOfDate(f"the pack holds from {first}{until}, and is to be in force from {day}")
