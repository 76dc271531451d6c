"""The pack in force: changed here and nowhere else, whoever asks for it.

Whatever fails while another pack is made ready, the one in force stays. What is decided is one row of the
database, entered with its audit entry in one transaction; only then do requests see the new snapshot. A
process that dies in between finds the decision when it starts again.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from functools import partial
from threading import Lock

from flask import Flask

from api.packs.comparing import Comparison
from api.packs.reading import Files, kept_pack
from api.snapshot import Snapshot, in_use, use
from rules.engines.limits import EngineLimit
from rules.loading import Checked, PackRefused
from rules.pack import Pack
from storage.audit import Who
from storage.faults import ActivationConflict
from storage.records import Activation, Situation
from storage.store import Store

API, FOLDER, START = "api", "folder", "start"

_log = logging.getLogger("stagewright")


class PackUnreadable(LookupError):
    """The pack is not kept, or cannot be built any more."""


class PackOutOfDate(ValueError):
    """The pack itself says that it does not hold at that time."""


class ActivePack:
    """What is in force in this process. `build` makes the snapshot of a pack and activation number."""

    def __init__(self, app: Flask, store: Store, build: Callable[[Pack, int], Snapshot]) -> None:
        self._app = app
        self._store = store
        self._build = build
        self._turn = Lock()
        self._folder: Pack | None = None
        self._unreadable: set[int] = set()
        # Line items may be untold of the activation in force: it took force while no process ran, or
        # requests that had begun before ended after it.
        self._some_untold = True
        self.base: Files = {}
        self.proving = Lock()

    def start(self, checked: Checked) -> None:
        """Begin with the pack in force by the database; where there is none, with the one checked.

        Raises PackRefused where neither can be used, EngineLimit where the checked one is needed and
        the engine cannot take it.
        """
        self._folder = None if checked.findings else checked.pack
        snapshot = next(self._readable(), None) or self._first(checked)
        use(self._app, snapshot)
        # What an overlay is laid on. A folder at fault has none; then what is in force shows it.
        self.base = next(iter((self._folder or snapshot.pack).files.values()))
        if self._folder is None:
            _log.error("the pack of the folder is not used:\n%s", PackRefused(checked.findings))
        elif self._folder.digest != snapshot.pack.digest:
            self._store.keep_pack(self._folder)
            _log.warning("the pack of the folder, %s, is kept but not in force", _named(self._folder))
        _log.info("in force: %s", _named(snapshot.pack))

    def activate(
        self,
        digest: str,
        after: int,
        origin: str,
        effective_from: datetime | None = None,
        once_more: bool = False,
        by: Who | None = None,
    ) -> Activation:
        """Put a kept pack in force, at once or from a moment on; `after` is the decision before.

        `once_more` is for a pack that was in force before: neither its dates nor its proof are looked at.
        Raises PackUnreadable, EngineLimit, ActivationConflict, PackNotProven and PackOutOfDate.
        """
        with self._turn:
            if not once_more:
                # Before an engine is built for it in this process, not only in the transaction.
                self._store.packs.refuse_unproven(digest)
            pack = self._pack(digest)
            if not once_more:
                _check_dates(pack, effective_from or datetime.now(UTC))
            enter = partial(
                self._store.activations.activate, digest, after, origin, needs_proof=not once_more, by=by
            )
            if effective_from is not None:
                return enter(changed=_nothing, effective_from=effective_from)
            snapshot = self._build(pack, after + 1)
            try:
                activation = enter(changed=self._comparison(pack).changed)
            except BaseException:
                snapshot.decider.engine.close()
                raise
            self._swap(snapshot)
            return activation

    def follow(self) -> None:
        """Take over what has come into force meanwhile, by the clock or by another process.

        To be called again and again.
        """
        with self._turn:
            activation = self._store.activations.in_force(datetime.now(UTC))
            if activation is None or activation.number in self._unreadable:
                return
            here = in_use(self._app).activation
            # A clock that was put back does not undo a decision.
            if activation.number < here or (activation.number > here and not self._take_over(activation)):
                return
            if self._some_untold:
                self._tell(activation)

    def _take_over(self, activation: Activation) -> bool:
        snapshot = self._snapshot(activation)
        if snapshot is None:
            return False
        self._swap(snapshot)
        self._some_untold = True
        return True

    def _tell(self, activation: Activation) -> None:
        self._some_untold = False
        try:
            self._store.activations.tell(activation, self._comparison(in_use(self._app).pack).changed)
        except BaseException:
            self._some_untold = True
            raise

    def _comparison(self, pack: Pack) -> Comparison:
        """Has looked at all line items there are, so that little is left to do in a transaction."""
        comparison = Comparison(pack, partial(pack_of, self._store, in_use(self._app)))
        comparison.changed(self._store.activations.situations())
        return comparison

    def _pack(self, digest: str) -> Pack:
        if self._folder is not None and self._folder.digest == digest:
            return self._folder
        pack = kept_pack(self._store, digest)
        if pack is None:
            raise PackUnreadable(f"the pack {digest} is not kept, or cannot be read any more")
        return pack

    def _snapshot(self, activation: Activation) -> Snapshot | None:
        """None where the pack cannot be used; that is logged, and not tried again."""
        try:
            return self._build(self._pack(activation.pack_digest), activation.number)
        except (PackUnreadable, EngineLimit) as error:
            self._unreadable.add(activation.number)
            _log.error("activation %d is passed over; %s", activation.number, error)
            return None

    def _swap(self, snapshot: Snapshot) -> None:
        before = in_use(self._app)
        use(self._app, snapshot)
        before.uses.close(partial(self._ended, before))
        _log.info("in force: %s", _named(snapshot.pack))

    def _ended(self, before: Snapshot) -> None:
        """The last request that worked with a snapshot has ended."""
        before.decider.engine.close()
        self._some_untold = True

    def _readable(self) -> Iterator[Snapshot]:
        """The snapshot in force, then those of the decisions before it, as far as they can be used."""
        activation = self._store.activations.in_force(datetime.now(UTC))
        while activation is not None:
            snapshot = self._snapshot(activation)
            if snapshot is not None:
                yield snapshot
            activation = self._store.activations.before(activation)

    def _first(self, checked: Checked) -> Snapshot:
        """Put the checked pack in force, as nothing else is."""
        if checked.pack is None or checked.findings:
            raise PackRefused(checked.findings)
        self._store.keep_pack(checked.pack)
        last = self._store.activations.last()
        snapshot = self._build(checked.pack, 1 if last is None else last.number + 1)
        try:
            self._store.activations.activate(
                checked.pack.digest, snapshot.activation - 1, START, _nothing, needs_proof=False
            )
        except ActivationConflict:
            # Another process was faster; what it has put in force is followed.
            snapshot.decider.engine.close()
            return next(self._readable())
        return snapshot


def pack_of(store: Store, snapshot: Snapshot, digest: str) -> Pack | None:
    """A pack by its digest: the one in force, or one that is kept."""
    return snapshot.pack if digest == snapshot.pack.digest else kept_pack(store, digest)


def _check_dates(pack: Pack, at: datetime) -> None:
    day = at.astimezone(UTC).date()
    first, last = pack.effective_from, pack.effective_until
    if day < first or (last is not None and day > last):
        until = "" if last is None else f" until {last}"
        raise PackOutOfDate(f"the pack holds from {first}{until}, and is to be in force from {day}")


def _nothing(_situations: Sequence[Situation]) -> tuple[Situation, ...]:
    """Who is concerned is found out later, by `follow`."""
    return ()


def _named(pack: Pack) -> str:
    return f"pack {pack.name} {pack.version} ({pack.digest})"
