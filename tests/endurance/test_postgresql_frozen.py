"""A PostgreSQL server that stands still, and whose machine goes on confirming packets."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from endurance.postgresql import Server
from storage.database import reading
from storage.faults import StoreUnavailable
from storage.store import Store, open_store

psycopg = pytest.importorskip("psycopg", reason="needs psycopg (the extra `postgresql`)")
patience = pytest.importorskip("storage.patience")


@pytest.fixture
def store(own_server: Server) -> Iterator[Store]:
    opened = open_store(own_server.new_database())
    yield opened
    opened.close()


@contextmanager
def frozen(server: Server) -> Iterator[None]:
    """Nothing of the server moves: neither its first process nor those that answer."""
    first = server.process()
    children = Path(f"/proc/{first}/task/{first}/children").read_text().split()
    processes = [first, *map(int, children)]
    for process in processes:
        os.kill(process, signal.SIGSTOP)
    try:
        yield
    finally:
        for process in processes:
            os.kill(process, signal.SIGCONT)


def test_nobody_waits_for_ever_and_then_it_is_served_again(
    own_server: Server, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("storage.patience.WITHIN_S", 0.5)  # of connections that were given back once
    store.ready()
    with frozen(own_server), pytest.raises(StoreUnavailable):
        store.ready()
    store.ready()


def test_an_answer_that_comes_too_late_is_not_taken_for_another(own_server: Server) -> None:
    with patience.PatientConnection.connect(own_server.new_database().replace("+psycopg", "")) as connection:
        connection.within_s = 0.3
        with pytest.raises(psycopg.OperationalError, match="timeout"):
            connection.execute("SELECT pg_sleep(0.6), 1")
        with pytest.raises(psycopg.OperationalError):
            connection.execute("SELECT 2")


def test_what_takes_its_time_may(store: Store) -> None:
    with reading(store._engine) as connection:
        driver_connection = connection.connection.driver_connection
        assert driver_connection.within_s is None
    with store._engine.connect() as connection:
        assert connection.connection.driver_connection is driver_connection
        assert driver_connection.within_s == patience.WITHIN_S
