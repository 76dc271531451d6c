"""Files that are there as a whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkstemp

from storage.faults import BackupRefused


@contextmanager
def in_place_of(target: Path) -> Iterator[Path]:
    """An empty file beside `target`, for its owner alone; at the end it is on disk, and takes its place.

    Where something is raised, it is removed, and `target` is what it was. A symbolic link stays, and what it
    leads to is written. Raises BackupRefused.
    """
    target = target.resolve()
    try:
        number, name = mkstemp(prefix=f".{target.name}.", suffix=".partial", dir=target.parent)
        os.close(number)
    except OSError as error:
        raise BackupRefused(f"cannot write beside {target}: {error.strerror}") from error
    partial = Path(name)
    try:
        yield partial
        _onto_disk(partial)
        os.replace(partial, target)
        _onto_disk(target.parent)
    except OSError as error:
        raise BackupRefused(f"cannot write {target}: {error.strerror}") from error
    finally:
        partial.unlink(missing_ok=True)


def refuse_there(target: Path, overwrite: bool) -> None:
    """Raises BackupRefused where a file would be written over that is to stay."""
    if target.is_dir():
        raise BackupRefused(f"{target} is a folder; name a file")
    if target.exists() and not overwrite:
        raise BackupRefused(f"{target} is there already; name another file, or say --overwrite")


def _onto_disk(path: Path) -> None:
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
