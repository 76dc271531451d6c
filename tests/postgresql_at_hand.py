"""Schemas and databases of their own on the PostgreSQL server of the tests, where one answers."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

import pytest
import sqlalchemy as sa

POSTGRESQL = os.environ.get(
    "STAGEWRIGHT_TEST_POSTGRESQL", "postgresql+psycopg://postgres@127.0.0.1:5432/test"
)


@contextmanager
def postgresql_schema() -> Iterator[str]:
    """The URL of a new schema, dropped at the end."""
    pytest.importorskip("psycopg", reason="needs psycopg (the extra `postgresql`)")
    server = sa.create_engine(POSTGRESQL, connect_args={"connect_timeout": 3})
    schema = f"stagewright_{uuid4().hex[:12]}"
    try:
        with server.begin() as connection:
            connection.execute(sa.schema.CreateSchema(schema))
    except sa.exc.OperationalError:
        pytest.skip("needs a PostgreSQL server; STAGEWRIGHT_TEST_POSTGRESQL names one")
    url = sa.make_url(POSTGRESQL).update_query_dict({"options": f"-csearch_path={schema}"})
    yield url.render_as_string(hide_password=False)
    with server.begin() as connection:
        connection.execute(sa.schema.DropSchema(schema, cascade=True))
    server.dispose()


@contextmanager
def postgresql_database() -> Iterator[str]:
    """The URL of a new database, dropped at the end."""
    pytest.importorskip("psycopg", reason="needs psycopg (the extra `postgresql`)")
    server = sa.create_engine(POSTGRESQL, isolation_level="AUTOCOMMIT", connect_args={"connect_timeout": 3})
    name = f"stagewright_{uuid4().hex[:12]}"
    try:
        with server.connect() as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
    except sa.exc.OperationalError:
        pytest.skip("needs a PostgreSQL server; STAGEWRIGHT_TEST_POSTGRESQL names one")
    yield sa.make_url(POSTGRESQL).set(database=name).render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
    server.dispose()
