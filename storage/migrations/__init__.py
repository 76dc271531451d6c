"""Brings a database to the present shape of `storage.tables`, one numbered step after another."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, Engine, text

from storage.database import shown, take_time
from storage.faults import StoreUnavailable

_LOCK = 7_205_759_403
"""Any number, the same in every process: the name of the PostgreSQL advisory lock."""


def upgrade(engine: Engine) -> None:
    """Run the steps that this database lacks, all or none; other processes wait meanwhile.

    Raises StoreUnavailable for a database with a step that is not among ours.
    """
    with engine.connect() as connection, connection.begin():
        _wait_for_our_turn(connection)
        config = _config()
        config.attributes["connection"] = connection
        try:
            command.upgrade(config, "head")
        except CommandError as error:
            reason = f"it is of a later version of the service ({error})"
            raise StoreUnavailable(f"cannot use the database {shown(engine.url)}: {reason}") from error


def knows(step: str) -> bool:
    """Whether a database that has reached this step can be brought to the present shape."""
    return step in {each.revision for each in ScriptDirectory.from_config(_config()).walk_revisions()}


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    return config


def _wait_for_our_turn(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        # A step over a large table takes its time, and so does waiting for one.
        take_time(connection)
        connection.exec_driver_sql("SET LOCAL lock_timeout = 0")
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
