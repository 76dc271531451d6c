"""The pack of the service, which all shops follow that have none of their own: in force in this process."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime

from flask import Flask

from api.packs.reading import Files, PackUnreadable, kept_pack
from api.snapshot import Snapshot, in_use, use
from rules.engines.limits import EngineLimit
from rules.loading import Checked, PackRefused
from rules.pack import Pack
from storage.faults import ActivationConflict
from storage.records import Activation, Situation
from storage.shops import LOCAL
from storage.store import Store

API, FOLDER, START = "api", "folder", "start"

_log = logging.getLogger("stagewright")


class ServicePack:
    """`build` makes the snapshot of a pack and activation number."""

    def __init__(self, app: Flask, store: Store, build: Callable[[Pack, int], Snapshot]) -> None:
        self._app = app
        self._store = store
        self.build = build
        self._folder: Pack | None = None
        self._pack: Pack | None = None
        self._unreadable: set[int] = set()
        self.activation: Activation
        self.base: Files = {}

    @property
    def pack(self) -> Pack:
        """The pack in force."""
        return in_use(self._app).pack

    def start(self, checked: Checked) -> None:
        """Begin with the pack in force by the database; where there is none, with the one checked.

        Raises PackRefused where neither can be used, EngineLimit where the checked one is needed and
        the engine cannot take it.
        """
        self._folder = None if checked.findings else checked.pack
        self._serve(*(next(self._readable(), None) or self._first(checked)))
        # What an overlay of the service is laid on. A folder at fault has none; what is in force shows it.
        self.base = next(iter((self._folder or self.pack).files.values()))
        if self._folder is None:
            _log.error("the pack of the folder is not used:\n%s", PackRefused(checked.findings))
        elif self._folder.digest != self.pack.digest:
            self._store.keep_pack(self._folder)
            _log.warning("the pack of the folder, %s, is kept but not in force", _named(self._folder))

    def take(self) -> Snapshot:
        """What a request that begins now works with, counted as a use."""
        closed: Snapshot | None = None
        while True:
            snapshot = in_use(self._app)
            if snapshot is closed:
                raise RuntimeError("the snapshot in use was closed before another took its place")
            if snapshot.uses.begin():
                return snapshot
            closed = snapshot

    def find(self, digest: str) -> Pack | None:
        """Any kept pack by its digest; None where there is none that can be read."""
        for pack in (self._pack, self._folder):
            if pack is not None and pack.digest == digest:
                return pack
        return kept_pack(self._store, digest)

    def load(self, activation: Activation) -> Snapshot:
        """The snapshot of the pack of a decision. Raises PackUnreadable and EngineLimit."""
        pack = self.find(activation.digest)
        if pack is None:
            raise PackUnreadable(f"the pack {activation.digest} is not kept, or cannot be read any more")
        return self.build(pack, activation.number)

    def overtaken_by(self, activation: Activation) -> Snapshot | None:
        """The snapshot of a decision that has come to hold; None where it has not, or cannot be used."""
        # A clock that was put back does not undo a decision.
        is_new = activation.number > self.activation.number and activation.number not in self._unreadable
        return self._snapshot(activation) if is_new else None

    def change(self, activation: Activation, snapshot: Snapshot) -> None:
        """Let requests that begin from now on work by another decision."""
        before = in_use(self._app)
        self._serve(activation, snapshot)
        before.uses.close(before.decider.engine.close)

    def _serve(self, activation: Activation, snapshot: Snapshot) -> None:
        use(self._app, snapshot)
        self.activation, self._pack = activation, snapshot.pack
        _log.info("in force: %s", _named(snapshot.pack))

    def _snapshot(self, activation: Activation) -> Snapshot | None:
        """None where the pack cannot be used; that is logged, and not tried again."""
        try:
            return self.load(activation)
        except (PackUnreadable, EngineLimit) as error:
            self._unreadable.add(activation.number)
            _log.error("activation %d is passed over; %s", activation.number, error)
            return None

    def _readable(self) -> Iterator[tuple[Activation, Snapshot]]:
        """What is in force, then the decisions before it, as far as they can be used."""
        activation = self._store.activations.decided(LOCAL, datetime.now(UTC))
        while activation is not None:
            snapshot = self._snapshot(activation)
            if snapshot is not None:
                yield activation, snapshot
            activation = self._store.activations.before(activation)

    def _first(self, checked: Checked) -> tuple[Activation, Snapshot]:
        """Put the checked pack in force, as nothing else is."""
        if checked.pack is None or checked.findings:
            raise PackRefused(checked.findings)
        self._store.keep_pack(checked.pack)
        last = self._store.activations.last(LOCAL)
        after = 0 if last is None else last.number
        snapshot = self.build(checked.pack, after + 1)
        try:
            activation = self._store.activations.activate(
                LOCAL, checked.pack.digest, after, START, nobody, needs_proof=False
            )
        except ActivationConflict:
            # Another process was faster; what it has put in force is followed.
            snapshot.decider.engine.close()
            return next(self._readable())
        return activation, snapshot


def nobody(_situations: Sequence[Situation]) -> tuple[Situation, ...]:
    """Who is concerned is found out later."""
    return ()


def _named(pack: Pack) -> str:
    return f"pack {pack.name} {pack.version} ({pack.digest})"
