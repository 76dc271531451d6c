"""Backs a database up into a file and restores it, whichever of the two kinds it is.

A backup is of one moment; whoever writes meanwhile does not wait. It holds everything, secrets of links and
webhooks too, so its file is for its owner alone.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Engine

from storage.backups import sqlite
from storage.backups.contents import Contents
from storage.backups.files import refuse_there
from storage.database import engine_for, guarded, refuse_missing_file


def back_up(url: str, target: Path, overwrite: bool = False) -> Contents:
    """Copy the database at `url` to a file; where that fails, the file is what it was.

    Raises BackupRefused and StoreUnavailable.
    """
    engine = engine_for(url)
    try:
        with guarded(engine):
            refuse_missing_file(engine)
            refuse_there(target, overwrite)
            if _is_sqlite(engine):
                return sqlite.back_up(engine, target)
            # Here, as its driver may not be installed.
            from storage.backups import postgresql

            return postgresql.back_up(engine, target)
    finally:
        engine.dispose()


def restore(url: str, source: Path, replace: bool = False) -> Contents:
    """Bring a database back from a file, in the present shape; where that fails, it is what it was.

    What is there is lost, and only where `replace` says so; never while a service works with it. Raises
    BackupRefused and StoreUnavailable.
    """
    engine = engine_for(url)
    try:
        with guarded(engine):
            if _is_sqlite(engine):
                return sqlite.restore(source, Path(engine.url.database or ""), replace)
            from storage.backups import postgresql

            return postgresql.restore(source, engine, replace)
    finally:
        engine.dispose()


def _is_sqlite(engine: Engine) -> bool:
    return engine.url.get_backend_name() == "sqlite"
