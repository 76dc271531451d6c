"""A SQLite database as another SQLite file, by SQLite's own means for copying it while it is written to."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import URL, Engine

from storage.backups.contents import Contents, contents_of, refuse_foreign
from storage.backups.files import in_place_of
from storage.database import engine_for
from storage.faults import BackupRefused
from storage.migrations import upgrade

BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite puts beside a database, and takes for a part of it."""


def back_up(engine: Engine, target: Path) -> Contents:
    """Copy the database of `engine`, as it is at one moment, to `target`. Raises BackupRefused."""
    database = Path(engine.url.database or "").resolve()
    if target.resolve() in _files_of(database):
        raise BackupRefused(f"{target} is the database itself; name another file")
    with in_place_of(target) as partial:
        with engine.connect() as connection:
            refuse_foreign(connection, str(database))
            source = connection.connection.driver_connection
            assert isinstance(source, sqlite3.Connection)
            _copy(source, partial, database)
        return _looked_through(partial, database)


def restore(source: Path, target: Path, replace: bool) -> Contents:
    """Put a backup in place of the database `target`, brought to the present shape. Raises BackupRefused."""
    target = target.resolve()
    _refuse_in_use(target, replace)
    with in_place_of(target) as partial:
        with _opened(source) as backup:
            _copy(backup, partial, source)
        contents = _looked_through(partial, source)
        with _at_work(partial) as engine:
            upgrade(engine)
        _owned_like(target, partial)
        _refuse_in_use(target, replace)
        for beside in _files_of(target)[1:]:
            beside.unlink(missing_ok=True)
    return contents


def _files_of(database: Path) -> list[Path]:
    return [database.with_name(database.name + ending) for ending in ("", *BESIDE)]


def _copy(source: sqlite3.Connection, target: Path, named: Path) -> None:
    """In one step, so that it is of one moment. Whoever writes meanwhile does not wait."""
    try:
        with closing(sqlite3.connect(target)) as copy:
            source.backup(copy)
    except sqlite3.Error as error:
        raise BackupRefused(f"{named} cannot be copied to {target.parent}: {error}") from error


def _looked_through(copy: Path, named: Path) -> Contents:
    """Raises BackupRefused where a copy of what is `named` is spoiled, or of something else."""
    try:
        with closing(sqlite3.connect(copy)) as connection:
            (told,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
            loose = connection.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.Error as error:
        raise BackupRefused(f"{named} is not whole: {error}") from error
    if told != "ok" or loose is not None:
        told = told if loose is None else f"loose rows in {loose[0]}"
        raise BackupRefused(f"{named} is not whole: {told}")
    with _at_work(copy) as engine, engine.connect() as connection:
        refuse_foreign(connection, str(named))
        return contents_of(connection)


@contextmanager
def _at_work(copy: Path) -> Iterator[Engine]:
    """The copy as a database; afterwards it is one file again, with nothing beside it."""
    engine = engine_for(URL.create("sqlite", database=str(copy)))
    try:
        yield engine
    finally:
        engine.dispose()
    with closing(sqlite3.connect(copy)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")


@contextmanager
def _opened(backup: Path) -> Iterator[sqlite3.Connection]:
    if not backup.is_file():
        raise BackupRefused(f"there is no file {backup}")
    with closing(sqlite3.connect(f"file:{quote(str(backup))}?mode=ro", uri=True)) as connection:
        yield connection


def _refuse_in_use(target: Path, replace: bool) -> None:
    """Raises BackupRefused where a database is there that is to stay, or that somebody works with."""
    if not target.exists() or target.stat().st_size == 0:
        return
    if not replace:
        raise BackupRefused(f"{target} is there already; say --replace to lose what is in it")
    # What is spoiled is nobody's any more, and may be replaced.
    with suppress(sqlite3.DatabaseError), closing(sqlite3.connect(target, timeout=0)) as connection:
        try:
            # Neither is to be had while anybody else has it open.
            connection.execute("PRAGMA journal_mode = DELETE")
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
                raise BackupRefused(f"{target} is in use; stop the service first") from error
            told = f"cannot see whether {target} is in use: {error}"
            raise BackupRefused(f"{told}; restore as the user that the service runs as") from error


def _owned_like(target: Path, partial: Path) -> None:
    """Let whoever could work with a database work with what takes its place."""
    if target.exists():
        shutil.copymode(target, partial)
        there = target.stat()
        with suppress(PermissionError):
            os.chown(partial, there.st_uid, there.st_gid)
