"""A PostgreSQL database into a file and back, by pg_dump and pg_restore."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from time import sleep

import pytest
import sqlalchemy as sa
from full_disk import refused_for_room
from kept_versions import issue
from postgresql_at_hand import postgresql_database, postgresql_schema
from stepping import step_to
from whole_shop import rows, whole_shop, written_meanwhile

from rules.pack import Pack
from storage.backups.backup import back_up, restore
from storage.backups.contents import Contents
from storage.faults import BackupRefused
from storage.store import Store, open_store

pytestmark = pytest.mark.skipif(
    not (shutil.which("pg_dump") and shutil.which("pg_restore")),
    reason="needs pg_dump and pg_restore (Debian: postgresql-client)",
)


@pytest.fixture
def source() -> Iterator[str]:
    with postgresql_database() as url:
        yield url


@pytest.fixture
def elsewhere() -> Iterator[str]:
    with postgresql_database() as url:
        yield url


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "stagewright.backup"


@pytest.fixture
def store(source: str, pack: Pack) -> Iterator[Store]:
    opened = open_store(source)
    opened.keep_pack(pack)
    whole_shop(opened, pack, "north")
    yield opened
    opened.close()


@contextmanager
def opened_again(url: str) -> Iterator[Store]:
    store = open_store(url)
    yield store
    store.close()


def schemas(url: str) -> list[str]:
    engine = sa.create_engine(url)
    with engine.connect() as connection:
        found = sa.inspect(connection).get_schema_names()
    engine.dispose()
    return sorted(set(found) - {"information_schema"})


def test_all_comes_back_as_it_was_and_counts_on(
    store: Store, source: str, elsewhere: str, target: Path, pack: Pack
) -> None:
    report = store.audit.verify()
    told = back_up(source, target)
    assert told == Contents(4, report.entries, report.head)
    assert restore(elsewhere, target) == told
    with opened_again(elsewhere) as restored:
        assert rows(restored) == rows(store)
        assert restored.audit.verify(told.head).faults == ()
        whole_shop(restored, pack, "south")  # numbers go on where they were
    assert os.stat(target).st_mode & 0o777 == 0o600
    assert [each.name for each in target.parent.iterdir()] == [target.name]


def test_what_was_acknowledged_before_is_in_it_while_others_write(
    store: Store, source: str, elsewhere: str, target: Path, pack: Pack
) -> None:
    with written_meanwhile(store, pack) as noted:
        before = set(noted)
        told = back_up(source, target)
    restore(elsewhere, target)
    with opened_again(elsewhere) as restored:
        found = {row[1] for row in restored.exports.every_procedure()}
        assert restored.audit.verify(told.head).faults == ()
    assert before <= found
    assert len(found) == told.procedures


def test_a_database_with_something_in_it_is_replaced_only_where_that_is_said(
    store: Store, source: str, target: Path, pack: Pack
) -> None:
    back_up(source, target)
    late = issue(store, pack, "R9")
    store.close()
    with pytest.raises(BackupRefused, match="there is something in the database; say --replace"):
        restore(source, target)
    restore(source, target, replace=True)
    with opened_again(source) as restored:
        assert restored.procedure("local", late.id) is None
        assert restored.audit.verify().faults == ()
    assert schemas(source) == ["public"]


def test_a_database_that_somebody_works_with_is_not_replaced(
    store: Store, source: str, target: Path, pack: Pack
) -> None:
    back_up(source, target)
    store.ready()
    with pytest.raises(BackupRefused, match="is in use, by 1 connections; stop the service first"):
        restore(source, target, replace=True)
    assert issue(store, pack, "R9").id


def cut(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 2 // 3])


def scratch(path: Path) -> None:
    content = bytearray(path.read_bytes())
    middle = len(content) * 2 // 3
    content[middle : middle + 2000] = b"\xa5" * 2000
    path.write_bytes(content)


@pytest.mark.parametrize(
    ("spoiled", "says"),
    [
        (cut, "pg_restore: error"),
        (scratch, "pg_restore: (error|it ended with)"),  # it may crash over it
        (lambda path: path.write_bytes(b""), "pg_restore: error"),
        (lambda path: path.write_text("no archive at all " * 500), "pg_restore: error"),
        (lambda path: path.unlink(), "there is no file"),
    ],
)
@pytest.mark.parametrize("there", [False, True])
def test_a_spoiled_file_is_refused_and_what_is_there_stays(
    store: Store,
    source: str,
    elsewhere: str,
    target: Path,
    pack: Pack,
    spoiled: Callable[[Path], None],
    says: str,
    there: bool,
) -> None:
    back_up(source, target)
    spoiled(target)
    before = None
    if there:
        with opened_again(elsewhere) as other:
            whole_shop(other, pack, "south")
            before = rows(other)
    with pytest.raises(BackupRefused, match=says):
        restore(elsewhere, target, replace=there)
    assert schemas(elsewhere) == ["public"]
    if there:
        with opened_again(elsewhere) as other:
            assert rows(other) == before
            assert other.audit.verify().faults == ()
            whole_shop(other, pack, "east")
    else:
        engine = sa.create_engine(elsewhere)
        assert sa.inspect(engine).get_table_names() == []
        engine.dispose()


def test_a_backup_of_something_else_or_of_a_later_version_is_refused(
    store: Store, source: str, elsewhere: str, target: Path
) -> None:
    engine = sa.create_engine(elsewhere)
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE something (x INT)")
    with pytest.raises(BackupRefused, match="the database is no database of this service"):
        back_up(elsewhere, target)
    foreign = target.with_name("foreign.backup")
    arguments = ["--format=custom", f"--file={foreign}", _plain(elsewhere)]
    subprocess.run(["pg_dump", *arguments], check=True)
    with pytest.raises(BackupRefused, match="is no backup of a database of this service"):
        restore(source, foreign, replace=True)
    with store._engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    subprocess.run(["pg_dump", "--format=custom", f"--file={target}", _plain(source)], check=True)
    for ask in (lambda: restore(elsewhere, target, replace=True), lambda: back_up(source, foreign, True)):
        with pytest.raises(BackupRefused, match=r"of a later version of the service \(step 9999\)"):
            ask()
    assert sa.inspect(engine).get_table_names() == ["something"]
    engine.dispose()


def _plain(url: str) -> str:
    return sa.make_url(url).set(drivername="postgresql").render_as_string(hide_password=False)


def test_a_backup_of_an_earlier_version_is_brought_to_the_present_shape(
    store: Store, source: str, elsewhere: str, target: Path
) -> None:
    step_to(store._engine, "0007")
    back_up(source, target)
    restore(elsewhere, target)
    with opened_again(elsewhere) as restored:
        assert restored.links.secret_of("north").version == 1


def test_only_the_schema_of_the_service_is_touched(
    source: str, elsewhere: str, target: Path, pack: Pack
) -> None:
    """Where the service has a schema of its own in a database of others."""
    urls = []
    for url in (source, elsewhere):
        engine = sa.create_engine(url)
        with engine.begin() as connection:
            connection.exec_driver_sql('CREATE SCHEMA "Of its own"')
            connection.exec_driver_sql("CREATE TABLE public.of_others (x INT)")
            connection.exec_driver_sql("INSERT INTO public.of_others VALUES (7)")
        engine.dispose()
        named = {"options": '-csearch_path="Of\\ its\\ own"'}
        urls.append(sa.make_url(url).update_query_dict(named).render_as_string(hide_password=False))
    with opened_again(urls[0]) as store:
        whole_shop(store, pack, "north")
        before = rows(store)
    told = back_up(urls[0], target)
    with opened_again(urls[1]):
        pass
    with pytest.raises(
        BackupRefused, match="is of the schema 'Of its own', and the database works in 'public'"
    ):
        restore(elsewhere, target, replace=True)
    assert restore(urls[1], target, replace=True) == told
    with opened_again(urls[1]) as restored:
        assert rows(restored) == before
        with restored._engine.connect() as connection:
            assert connection.exec_driver_sql("SELECT x FROM public.of_others").scalar() == 7
    assert schemas(elsewhere) == ["Of its own", "public"]


def test_without_the_programs_of_postgresql_it_is_told_what_to_install(
    store: Store, source: str, target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(target.parent))
    with pytest.raises(BackupRefused, match=r"pg_dump is not on the PATH; install it .*postgresql-client"):
        back_up(source, target)
    assert list(target.parent.iterdir()) == []


NOTING = """#!/bin/sh
echo "$0 $*" >> {folder}/called
echo "$PGPASSWORD" >> {folder}/passwords
exec {program} "$@"
"""


def test_a_password_is_told_to_the_programs_and_never_on_a_command_line(
    source: str, target: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Programs in the place of those of PostgreSQL note how they are called, and call them."""
    folder = tmp_path / "programs"
    folder.mkdir()
    for name in ("pg_dump", "pg_restore"):
        (folder / name).write_text(NOTING.format(folder=folder, program=shutil.which(name)))
        (folder / name).chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}:{os.environ['PATH']}")
    url = sa.make_url(source).set(password="s3cret-7").render_as_string(hide_password=False)
    open_store(url).close()
    back_up(url, target)
    restore(url, target, replace=True)
    called = (folder / "called").read_text()
    assert f"{folder}/pg_dump --format=custom" in called
    assert "--single-transaction" in called
    assert "s3cret" not in called
    assert (folder / "passwords").read_text().split() == ["s3cret-7"] * 2


STANDING_STILL = """#!/bin/sh
case "$*" in *--single-transaction*) touch {begun}; exec sleep 60;; esac
exec {program} "$@"
"""


def test_a_restore_that_is_stopped_leaves_all_as_it_was(
    store: Store, source: str, target: Path, tmp_path: Path
) -> None:
    back_up(source, target)
    before = rows(store)
    store.close()
    folder, begun = tmp_path / "programs", tmp_path / "begun"
    folder.mkdir()
    (folder / "pg_restore").write_text(STANDING_STILL.format(begun=begun, program=shutil.which("pg_restore")))
    (folder / "pg_restore").chmod(0o755)
    command = [sys.executable, "-m", "api.commands", "restore", str(target), "--replace"]
    environment = {"PATH": f"{folder}:{os.environ['PATH']}", "STAGEWRIGHT_DATABASE": source}
    with subprocess.Popen(command, env=os.environ | environment) as stopped:
        while not begun.exists():
            assert stopped.poll() is None
            sleep(0.05)
        stopped.terminate()
    assert stopped.returncode == 128 + signal.SIGTERM
    assert schemas(source) == ["public"]
    with opened_again(source) as kept:
        assert rows(kept) == before


def test_a_disk_that_is_full_leaves_the_old_backup_as_it_was(
    store: Store, source: str, target: Path, pack: Pack
) -> None:
    back_up(source, target)
    before = target.read_bytes()
    assert "pg_dump" in refused_for_room(source, target, 4096)
    assert target.read_bytes() == before
    assert [each.name for each in target.parent.iterdir()] == [target.name]


def test_a_schema_that_is_not_there_is_told(source: str, target: Path) -> None:
    with ExitStack() as stack:
        other = stack.enter_context(postgresql_schema())
        open_store(other).close()
        back_up(other, target)
    missing = sa.make_url(source).update_query_dict({"options": "-csearch_path=nowhere"})
    with pytest.raises(BackupRefused, match="the schema that the URL of the database names is not there"):
        restore(missing.render_as_string(hide_password=False), target)
