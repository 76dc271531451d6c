"""A PostgreSQL database as an archive of pg_dump, which pg_restore brings back; both belong to PostgreSQL.

The archive holds the tables of the schema that the service works in. How to reach the server is told to the
programs by their environment, where no other user of the machine sees the password.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import psycopg
from psycopg.conninfo import make_conninfo
from sqlalchemy import Connection, Engine, inspect, text

from storage.backups.contents import VERSION, Contents, contents_of, refuse_foreign, refuse_later
from storage.backups.files import in_place_of
from storage.database import APPLICATION, reading
from storage.faults import BackupRefused
from storage.migrations import upgrade

Environment = Mapping[str, str]


def back_up(engine: Engine, target: Path) -> Contents:
    """Write the database of `engine`, as it is at one moment, to `target`. Raises BackupRefused."""
    with in_place_of(target) as partial, reading(engine) as connection:
        refuse_foreign(connection, "the database")
        schema = _schema_of(connection).replace('"', '""')
        moment = connection.scalar(text("SELECT pg_export_snapshot()"))
        named = ("--format=custom", "--no-owner", "--no-privileges", f'--table="{schema}".*')
        _run(_environment(connection), "pg_dump", *named, f"--snapshot={moment}", f"--file={partial}")
        # Reads every byte of it.
        _run(os.environ, "pg_restore", f"--file={os.devnull}", str(partial))
        return contents_of(connection)


def restore(source: Path, engine: Engine, replace: bool) -> Contents:
    """Put a backup in place of what is in a database, in the present shape. Raises BackupRefused."""
    if not source.is_file():
        raise BackupRefused(f"there is no file {source}")
    with engine.connect() as connection:
        schema, environment = _schema_of(connection), _environment(connection)
        tables = inspect(connection).get_table_names()
        _refuse_archive(source, schema)
        _refuse_in_use(connection, bool(tables), replace)
        to = f"--dbname={make_conninfo(dbname=environment['PGDATABASE'])}"
    with _aside(engine, schema, tables):
        named = ("--no-owner", "--no-privileges", "--single-transaction", "--exit-on-error")
        _run(environment, "pg_restore", *named, to, str(source))
        upgrade(engine)
    with engine.connect() as connection:
        return contents_of(connection)


def _schema_of(connection: Connection) -> str:
    schema: str | None = connection.scalar(text("SELECT current_schema()"))
    if schema is None:
        raise BackupRefused("the schema that the URL of the database names is not there; create it")
    return schema


def _environment(connection: Connection) -> dict[str, str]:
    """How this connection reaches the server, as PostgreSQL's programs read it."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, psycopg.Connection)
    given = {**driver.info.get_parameters(), "password": driver.info.password}
    names = {each.keyword.decode(): each.envvar for each in psycopg.pq.Conninfo.get_defaults()}
    told = {name.decode(): given[word] for word, name in names.items() if name and given.get(word)}
    return {**os.environ, **told}


def _run(environment: Environment, program: str, *arguments: str) -> str:
    """What a program of PostgreSQL says. Raises BackupRefused."""
    found = shutil.which(program)
    if found is None:
        raise BackupRefused(f"{program} is not on the PATH; install it (Debian: postgresql-client)")
    ended = subprocess.run(
        [found, *arguments],
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )
    if ended.returncode:
        told = " ".join(ended.stderr.split()) or f"it ended with {ended.returncode}"
        raise BackupRefused(told if told.startswith(program) else f"{program}: {told}")
    return ended.stdout


def _refuse_archive(source: Path, schema: str) -> None:
    """Raises BackupRefused for what is no backup of this service, or of another schema or a later version."""
    listed = _run(os.environ, "pg_restore", "--list", str(source))
    found = re.findall(rf"^\d+; \d+ \d+ TABLE (?!DATA )(.+) {VERSION} ", listed, re.MULTILINE)
    if not found:
        raise BackupRefused(f"{source} is no backup of a database of this service")
    if schema not in found:
        told = f"{source} is of the schema '{found[0]}', and the database works in '{schema}'"
        raise BackupRefused(f"{told}; name the other in the URL: ?options=-csearch_path%3D{found[0]}")
    rows = _run(os.environ, "pg_restore", "--data-only", f"--table={VERSION}", "--file=-", str(source))
    step = re.search(rf"^COPY .*{VERSION} .*\n(.*)\n", rows, re.MULTILINE)
    refuse_later(step[1] if step else "none", str(source))


def _refuse_in_use(connection: Connection, is_filled: bool, replace: bool) -> None:
    if is_filled and not replace:
        raise BackupRefused("there is something in the database; say --replace to lose it")
    others = connection.scalar(
        text(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
            " AND application_name = :name AND pid <> pg_backend_pid()"
        ),
        {"name": APPLICATION},
    )
    if others:
        raise BackupRefused(f"the database is in use, by {others} connections; stop the service first")


@contextmanager
def _aside(engine: Engine, schema: str, tables: Sequence[str]) -> Iterator[None]:
    """What was there stands aside meanwhile. It comes back where something is raised, and else goes."""
    aside = f"{APPLICATION}_aside_{uuid4().hex[:12]}"
    with engine.begin() as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {aside}")
        _move(connection, tables, schema, aside)
    try:
        yield
    except BaseException:
        with engine.begin() as connection:
            for table in inspect(connection).get_table_names():
                connection.exec_driver_sql(f"DROP TABLE {_named(connection, schema, table)} CASCADE")
            _move(connection, tables, aside, schema)
            connection.exec_driver_sql(f"DROP SCHEMA {aside}")
        raise
    with engine.begin() as connection:
        connection.exec_driver_sql(f"DROP SCHEMA {aside} CASCADE")


def _move(connection: Connection, tables: Sequence[str], schema: str, to: str) -> None:
    quoted = connection.dialect.identifier_preparer.quote(to)
    for table in tables:
        connection.exec_driver_sql(f"ALTER TABLE {_named(connection, schema, table)} SET SCHEMA {quoted}")


def _named(connection: Connection, schema: str, table: str) -> str:
    preparer = connection.dialect.identifier_preparer
    return f"{preparer.quote(schema)}.{preparer.quote(table)}"
