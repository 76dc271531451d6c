"""Engines for the two databases: SQLite by default, PostgreSQL where one machine is outgrown.

A created procedure is acknowledged only when it is on disk: `synchronous` is FULL, and a
PostgreSQL server that does not wait for its log is told to. Neither quotes the values of a statement in its
errors: they get into logs.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event, make_url, text
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import ArgumentError

from storage.driver_faults import OF_THE_DATABASE, OF_THE_STATEMENT, unavailable
from storage.faults import StoreUnavailable

BUSY_TIMEOUT_MS = 10_000
"""So long one that writes waits for another."""

STATEMENT_TIMEOUT_MS = 30_000
IDLE_TIMEOUT_MS = 60_000
"""So long a transaction may do nothing: others must not wait for a service that stands still."""

CONNECT_TIMEOUT_S = 5

_AS_MANY_AS_THREADS = -1
"""How many connections there may be: no thread waits for that of another."""

_TURN = 7_205_759_404
"""Any number, the same in every process: the name of the PostgreSQL advisory lock of `writing`."""

_SQLITE_SETTINGS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
)
_POSTGRESQL_SETTINGS = (
    "SELECT set_config('synchronous_commit', 'on', false)"
    " WHERE current_setting('synchronous_commit') = 'off'",
    *(
        f"SELECT set_config('{name}', '{timeout_ms}', false) WHERE current_setting('{name}') = '0'"
        for name, timeout_ms in (
            ("lock_timeout", BUSY_TIMEOUT_MS),
            ("statement_timeout", STATEMENT_TIMEOUT_MS),
            ("idle_in_transaction_session_timeout", IDLE_TIMEOUT_MS),
        )
    ),
)

APPLICATION = "stagewright"
"""By this name a PostgreSQL server lists the connections of the service."""

_POSTGRESQL_CONNECTION = {
    "application_name": APPLICATION,
    "connect_timeout": CONNECT_TIMEOUT_S,
    # A server that is gone without a word: so long nobody waits for its machine.
    "keepalives_idle": 10,
    "keepalives_interval": 5,
    "keepalives_count": 3,
    "tcp_user_timeout": 25_000,
}


def engine_for(url: str | URL) -> Engine:
    """An engine that has not connected yet. Raises StoreUnavailable for a URL that can't be used."""
    parsed = _parsed(url)
    match parsed.get_backend_name():
        case "sqlite":
            return _sqlite(parsed)
        case "postgresql":
            return _postgresql(parsed)
        case other:
            raise StoreUnavailable(f"databases of kind '{other}' are not served; use sqlite or postgresql")


def shown(url: URL) -> str:
    """The URL for people and logs: without password and without options, which may hold one."""
    return url.set(query={}).render_as_string(hide_password=True)


def refuse_missing_file(engine: Engine) -> None:
    """Raises StoreUnavailable for a SQLite database that nobody has created yet."""
    url = engine.url
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").is_file():
        raise StoreUnavailable(f"there is no database {shown(url)}")


@contextmanager
def guarded(engine: Engine) -> Iterator[None]:
    """Turns what a driver raises when its database can't be used into StoreUnavailable."""
    try:
        yield
    except OF_THE_STATEMENT:
        raise
    except OF_THE_DATABASE as error:
        raise unavailable(error, shown(engine.url)) from error


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that reads what it then builds on: such transactions take turns."""
    with guarded(engine), engine.connect() as connection, connection.begin():
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            connection.execute(text("SELECT pg_advisory_xact_lock(:turn)"), {"turn": _TURN})
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that only reads, and sees one state of the database however long it takes."""
    with guarded(engine), engine.connect() as connection:
        if connection.dialect.name != "sqlite":
            connection.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            if connection.dialect.name == "sqlite":
                connection.exec_driver_sql("BEGIN")
            take_time(connection)
            yield connection


def take_time(connection: Connection) -> None:
    """Let this transaction take as long as it does: it goes over more than a request ever would."""
    if connection.dialect.name != "sqlite":
        from storage.patience import wait_as_long_as_it_takes

        wait_as_long_as_it_takes(connection)
        for bound in ("statement_timeout", "idle_in_transaction_session_timeout"):
            connection.exec_driver_sql(f"SET LOCAL {bound} = 0")


def hold(connection: Connection, table: Table) -> None:
    """Let nobody else write into a table before this transaction has ended, nor end one that has begun to.

    In SQLite nobody else writes anyway.
    """
    if connection.dialect.name != "sqlite":
        connection.exec_driver_sql(f"LOCK TABLE {table.name} IN SHARE ROW EXCLUSIVE MODE")


def inserting(connection: Connection, table: Table) -> sqlite.Insert | postgresql.Insert:
    """An insert that knows `ON CONFLICT`, which the two databases spell alike."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(table)
    return postgresql.insert(table)


def _parsed(url: str | URL) -> URL:
    try:
        return make_url(url)
    except (ArgumentError, ValueError):
        # The cause may quote the password.
        raise StoreUnavailable(
            "the database URL cannot be read; write it like sqlite:////var/lib/stagewright/store.sqlite3"
            " or postgresql+psycopg://user@host/name"
        ) from None


def _sqlite(url: URL) -> Engine:
    if url.database in (None, "", ":memory:") or "mode" in url.query:
        raise StoreUnavailable("a database in memory would be gone with the process; name a file")
    engine = create_engine(url, hide_parameters=True, max_overflow=_AS_MANY_AS_THREADS)
    _set_on_connect(engine, _SQLITE_SETTINGS, _execute_patiently)
    return engine


def _postgresql(url: URL) -> Engine:
    try:
        engine = create_engine(
            url.set(drivername="postgresql+psycopg"),
            hide_parameters=True,
            max_overflow=_AS_MANY_AS_THREADS,
            pool_pre_ping=True,
            connect_args=_POSTGRESQL_CONNECTION,
        )
    except ModuleNotFoundError as error:
        raise StoreUnavailable(
            f"{shown(url)} needs the PostgreSQL driver; install stagewright[postgresql]"
        ) from error
    # Only here there is the driver that it needs.
    from storage.patience import be_patient

    be_patient(engine)
    _set_on_connect(engine, _POSTGRESQL_SETTINGS)
    return engine


def _set_on_connect(
    engine: Engine,
    statements: tuple[str, ...],
    execute: Callable[[Any, str], None] = lambda cursor, statement: cursor.execute(statement),
) -> None:
    def settle(connection: Any, _record: object) -> None:
        cursor = connection.cursor()
        for statement in statements:
            execute(cursor, statement)
        cursor.close()
        connection.commit()

    event.listen(engine, "connect", settle)


def _execute_patiently(cursor: sqlite3.Cursor, statement: str) -> None:
    """Two that turn a new file to WAL at once are in each other's way, and SQLite does not let them wait."""
    deadline_s = monotonic() + BUSY_TIMEOUT_MS / 1000
    while True:
        try:
            cursor.execute(statement)
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or monotonic() > deadline_s:
                raise
        sleep(0.01)
