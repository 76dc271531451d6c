"""A database that takes no changes, keeps everybody waiting or is spoiled is told as that."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest
import sqlalchemy as sa
from kept_versions import CRACK
from sqlalchemy import Engine, event

from rules.pack import Pack
from storage import database
from storage.database import engine_for, guarded, writing
from storage.faults import StoreNotWritable, StoreUnavailable
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store, open_store

Issue = Callable[..., KeptProcedure]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "store.sqlite3"


@pytest.fixture
def sqlite_store(file: Path, pack: Pack) -> Iterator[Store]:
    store = open_store(f"sqlite:///{file}")
    store.keep_pack(pack)
    yield store
    store.close()


def settle(store: Store, pragma: str) -> None:
    """Let this pragma hold for every connection from now on."""
    store.close()
    event.listen(store._engine, "connect", lambda connection, _record: connection.execute(f"PRAGMA {pragma}"))


def grow(store: Store, issue: Issue) -> None:
    """Keep procedures until there is no room for another."""
    for _ in range(1000):
        store.keep_procedure(LOCAL, issue(text="x" * 10_000), CRACK)


def test_a_full_disk_is_named_loses_nothing_and_is_read_and_ends(
    sqlite_store: Store, file: Path, issue: Issue
) -> None:
    kept = sqlite_store.keep_procedure(LOCAL, issue(), CRACK)
    settle(sqlite_store, "max_page_count = 200")
    with pytest.raises(StoreNotWritable, match="takes no changes: database or disk is full") as refused:
        grow(sqlite_store, issue)
    assert str(file) in str(refused.value)
    assert sqlite_store.procedure(LOCAL, kept.id) == kept
    settle(sqlite_store, "max_page_count = 100000")
    another = sqlite_store.keep_procedure(LOCAL, issue(), CRACK)
    assert sqlite_store.procedure(LOCAL, another.id) == another


def test_a_read_only_file_is_named_and_read(sqlite_store: Store, file: Path, issue: Issue) -> None:
    kept = sqlite_store.keep_procedure(LOCAL, issue(), CRACK)
    settle(sqlite_store, "query_only = ON")
    with pytest.raises(StoreNotWritable, match="readonly") as refused:
        sqlite_store.keep_procedure(LOCAL, issue(), CRACK)
    assert str(file) in str(refused.value)
    assert sqlite_store.procedure(LOCAL, kept.id) == kept


def test_a_spoiled_file_is_told_in_words(sqlite_store: Store, file: Path) -> None:
    sqlite_store.close()
    file.write_bytes(b"no database " * 1000)
    with pytest.raises(StoreUnavailable, match="file is not a database") as refused:
        sqlite_store.ready()
    assert not isinstance(refused.value, StoreNotWritable)


def test_what_is_wrong_with_a_statement_is_no_matter_of_the_database(file: Path) -> None:
    engine = engine_for(f"sqlite:///{file}")
    with pytest.raises(sa.exc.ProgrammingError), guarded(engine), engine.connect() as connection:
        connection.execute(sa.text("SELECT ?, ?"), {"one": 1})
    engine.dispose()


def test_as_many_threads_as_like_are_served_at_once(database_url: str) -> None:
    """A thread that waits for the connection of another could wait for ever."""
    engine, together = engine_for(database_url), Barrier(24, timeout=30)

    def hold(_number: int) -> Any:
        with engine.connect() as connection:
            together.wait()
            return connection.execute(sa.text("SELECT 1")).scalar_one()

    with ThreadPoolExecutor(24) as threads:
        assert set(threads.map(hold, range(24))) == {1}
    engine.dispose()


def test_a_postgresql_that_is_read_only_is_told_as_that(
    postgresql_url: str, pack: Pack, issue: Issue
) -> None:
    """A standby, after its primary was lost."""
    writable = open_store(postgresql_url)
    writable.keep_pack(pack)
    kept = writable.keep_procedure(LOCAL, issue(), CRACK)
    writable.close()
    store = Store(engine_for(_with_options(postgresql_url, "-cdefault_transaction_read_only=on")))
    assert store.procedure(LOCAL, kept.id) == kept
    with pytest.raises(StoreNotWritable, match="read-only transaction"):
        store.keep_procedure(LOCAL, issue(), CRACK)
    store.close()


def test_in_postgresql_nobody_waits_for_ever(postgresql_url: str) -> None:
    bounds = {"lock_timeout": 200, "statement_timeout": 300, "idle_in_transaction_session_timeout": 400}
    engine = engine_for(_with_options(postgresql_url, *(f"-c{name}={ms}" for name, ms in bounds.items())))
    with writing(engine), pytest.raises(StoreUnavailable, match="lock timeout"), writing(engine):
        pass
    with pytest.raises(StoreUnavailable, match="statement timeout"):
        _ask(engine, "SELECT pg_sleep(10)")
    with pytest.raises(StoreUnavailable, match="idle-in-transaction"):
        _ask(engine, "SELECT 1", "SELECT 1", pause_s=0.8)
    engine.dispose()


def test_the_bounds_hold_where_the_server_has_none(postgresql_url: str) -> None:
    engine = engine_for(_with_options(postgresql_url, "-clock_timeout=0", "-cstatement_timeout=7000"))
    with engine.connect() as connection:
        told = {
            name: connection.exec_driver_sql(f"SHOW {name}").scalar()
            for name in ("lock_timeout", "statement_timeout", "idle_in_transaction_session_timeout")
        }
    engine.dispose()
    assert told == {
        "lock_timeout": f"{database.BUSY_TIMEOUT_MS // 1000}s",
        "statement_timeout": "7s",
        "idle_in_transaction_session_timeout": f"{database.IDLE_TIMEOUT_MS // 60_000}min",
    }


def _with_options(url: str, *options: str) -> str:
    parsed = sa.make_url(url)
    together = " ".join([str(parsed.query["options"]), *options])
    return parsed.update_query_dict({"options": together}).render_as_string(hide_password=False)


def _ask(engine: Engine, *statements: str, pause_s: float = 0) -> None:
    """Several statements in one transaction, which does nothing for a while after each."""
    with guarded(engine), engine.connect() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
            time.sleep(pause_s)
