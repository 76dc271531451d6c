"""A folder that an admin edits in place: what is saved there is checked, proven and put in force.

Whatever is wrong with it is logged, and the pack in force stays.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Sequence
from pathlib import Path

from api.packs.activating import ActivePack, PackOutOfDate
from api.packs.documents import Document, in_lines, told_in_proof
from api.packs.proofs import prove_apart
from api.packs.reading import Files, laid
from api.packs.service_pack import FOLDER
from api.packs.turns import Busy, Turns
from rules.engines.limits import EngineLimit
from rules.findings import as_text
from rules.loading import PackRefused, check_files, read_folder
from rules.loading.bounds import MAX_FILES
from rules.pack import Pack
from storage.faults import ActivationConflict
from storage.shops import LOCAL
from storage.store import Store

Signature = tuple[tuple[str, int, int], ...]
"""(path, time of change in ns, size) of every file."""

_log = logging.getLogger("stagewright")


class FolderWatch:
    """Looks at a folder when it is told to. `prove` proves a stack of packs."""

    def __init__(
        self,
        folder: Path,
        active: ActivePack,
        store: Store,
        proofs: Turns,
        prove: Callable[[Sequence[Files]], Document] = prove_apart,
    ) -> None:
        self._folder = folder
        self._active = active
        self._store = store
        self._proofs = proofs
        self._prove = prove
        self._seen: Signature | None = None
        self._done: Signature | None = None
        self._just_started = True

    def look(self) -> None:
        """Take what the folder holds, if it has changed and was the same at the look before.

        A folder that is just being saved is left until it is whole.
        """
        signature = _signature(self._folder)
        settled, self._seen = signature == self._seen, signature
        if not settled or signature == self._done:
            return
        self._done = signature
        try:
            self._take()
            self._just_started = False
        except PackRefused as refused:
            self._complain(as_text(refused.findings, f"{self._folder}/"))
        except (EngineLimit, PackOutOfDate) as error:
            self._complain(str(error))
        except (ActivationConflict, Busy):
            self._done = None  # look again

    def _take(self) -> None:
        stack = laid(read_folder(self._folder), self._active.below(LOCAL)[0])
        checked = check_files(stack)
        if checked.pack is None or checked.findings:
            raise PackRefused(checked.findings)
        digest = checked.pack.digest
        last = self._store.activations.last(LOCAL)
        if last is not None and last.pack_digest == digest:
            return
        if self._just_started and self._store.activations.was_decided(LOCAL, digest):
            # Somebody went back from it; starting the service again must not undo that.
            _log.warning("the watched folder holds a pack that was replaced since; it is left as it is")
            return
        self._store.packs.keep(LOCAL, checked.pack, origin=FOLDER)
        if self._is_proven(checked.pack, stack):
            self._active.activate(LOCAL, digest, 0 if last is None else last.number, FOLDER)

    def _is_proven(self, pack: Pack, stack: Sequence[Files]) -> bool:
        known = self._store.packs.proof(LOCAL, pack.digest)
        if known is None or not known.passed:
            with self._proofs.of(LOCAL):
                document = self._prove(stack)
            known = self._store.packs.keep_proof(LOCAL, pack.digest, bool(document["passed"]), document)
        if not known.passed:
            self._complain(in_lines(told_in_proof(known.document)))
        return known.passed

    def _complain(self, told: str) -> None:
        _log.error("the watched folder is not put in force; the pack before stays:\n%s", told.rstrip())


def _signature(folder: Path) -> Signature:
    """Of the files that may be read, in a bounded number."""
    found: list[tuple[str, int, int]] = []
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            if name.startswith(".") or not name.lower().endswith((".yaml", ".yml")):
                continue
            path = os.path.join(here, name)
            status = _status(path)
            if status is not None and len(found) <= MAX_FILES:
                found.append((path, status.st_mtime_ns, status.st_size))
    return tuple(found)


def _status(path: str) -> os.stat_result | None:
    try:
        return os.stat(path)
    except OSError:
        return None  # gone since, or a link that leads nowhere
