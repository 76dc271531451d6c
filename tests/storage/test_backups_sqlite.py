"""A SQLite database into a file and back: of one moment, whole, and never in the way of what is there."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from full_disk import refused_for_room
from kept_versions import issue
from stepping import step_to
from whole_shop import rows, whole_shop, written_meanwhile

from rules.pack import Pack
from storage.backups import sqlite
from storage.backups.backup import back_up, restore
from storage.backups.contents import Contents
from storage.database import engine_for
from storage.faults import BackupRefused, StoreUnavailable
from storage.store import Store, open_store


def url_of(path: Path) -> str:
    return f"sqlite:///{path}"


@pytest.fixture
def source(tmp_path: Path) -> Path:
    return tmp_path / "store.sqlite3"


@pytest.fixture
def target(tmp_path: Path) -> Path:
    (tmp_path / "kept").mkdir()
    return tmp_path / "kept" / "stagewright.backup"


@pytest.fixture
def store(source: Path, pack: Pack) -> Iterator[Store]:
    opened = open_store(url_of(source))
    opened.keep_pack(pack)
    whole_shop(opened, pack, "north")
    yield opened
    opened.close()


def contents(store: Store, procedures: int) -> Contents:
    report = store.audit.verify()
    return Contents(procedures, report.entries, report.head)


def dumped(path: Path) -> str | None:
    """All that a database says, or None where there is none."""
    if not path.exists():
        return None
    with closing(sqlite3.connect(path)) as connection:
        return "\n".join(connection.iterdump())


def beside(path: Path) -> list[str]:
    return sorted(each.name for each in path.parent.iterdir())


def test_all_comes_back_as_it_was(store: Store, source: Path, target: Path, tmp_path: Path) -> None:
    told = back_up(url_of(source), target)
    assert told == contents(store, procedures=4)
    elsewhere = tmp_path / "restored.sqlite3"
    assert restore(url_of(elsewhere), target) == told
    restored = open_store(url_of(elsewhere), must_exist=True)
    assert rows(restored) == rows(store)
    assert restored.audit.verify(told.head).faults == ()
    restored.close()


def test_a_backup_is_one_file_for_its_owner_alone(store: Store, source: Path, target: Path) -> None:
    back_up(url_of(source), target)
    assert beside(target) == [target.name]
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    with closing(sqlite3.connect(target)) as copy:
        assert copy.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_what_was_acknowledged_before_is_in_it_while_others_write(
    store: Store, source: Path, target: Path, pack: Pack, tmp_path: Path
) -> None:
    """A line item is noted once it is acknowledged; what was noted before a backup began must be in it."""
    with written_meanwhile(store, pack) as noted:
        before = set(noted)
        told = back_up(url_of(source), target)
        during = set(noted)
    elsewhere = tmp_path / "restored.sqlite3"
    restore(url_of(elsewhere), target)
    restored = open_store(url_of(elsewhere))
    found = {row[1] for row in restored.exports.every_procedure()}
    restored.close()
    assert before <= found
    assert len(found) == told.procedures
    assert during | found <= set(noted) | {row[1] for row in store.exports.every_procedure()}
    assert store.audit.verify().faults == ()


def test_a_file_that_is_there_stays_unless_told_otherwise(store: Store, source: Path, target: Path) -> None:
    target.write_text("mine")
    with pytest.raises(BackupRefused, match="is there already; name another file, or say --overwrite"):
        back_up(url_of(source), target)
    assert target.read_text() == "mine"
    back_up(url_of(source), target, overwrite=True)
    assert beside(target) == [target.name]
    with pytest.raises(BackupRefused, match="is a folder; name a file"):
        back_up(url_of(source), target.parent, overwrite=True)


@pytest.mark.parametrize("ending", ["", "-wal", "-shm"])
def test_the_database_itself_is_never_written_over(
    store: Store, source: Path, pack: Pack, ending: str
) -> None:
    named = source.parent / "kept" / ".." / f"{source.name}{ending}"
    (source.parent / "kept").mkdir()
    with pytest.raises(BackupRefused, match="is the database itself; name another file"):
        back_up(url_of(source), named, overwrite=True)
    assert issue(store, pack, "R9").id


def test_where_nothing_can_be_written_it_is_told(store: Store, source: Path, tmp_path: Path) -> None:
    with pytest.raises(BackupRefused, match=r"cannot write beside .*No such file or directory"):
        back_up(url_of(source), tmp_path / "nowhere" / "copy")


def test_a_database_that_is_not_there_or_not_ours_is_told(target: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreUnavailable, match="there is no database"):
        back_up(url_of(tmp_path / "none.sqlite3"), target)
    foreign = tmp_path / "foreign.sqlite3"
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE procedures (x)")
    with pytest.raises(BackupRefused, match=r"foreign\.sqlite3 is no database of this service"):
        back_up(url_of(foreign), target)
    assert beside(target) == []


@pytest.mark.parametrize("room", [0, 4096, 100_000])
def test_a_disk_that_is_full_leaves_the_old_backup_as_it_was(
    store: Store, source: Path, target: Path, pack: Pack, room: int
) -> None:
    """A bound on the size of files stands in for the disk: writes fail in the same places."""
    back_up(url_of(source), target)
    before = target.read_bytes()
    assert len(before) > room
    issue(store, pack, "R9")
    assert "cannot be copied" in refused_for_room(url_of(source), target, room)
    assert target.read_bytes() == before
    assert beside(target) == [target.name]
    assert store.procedures_of("local", "R9", 5).items


def spoil(change: Callable[[bytearray], None]) -> Callable[[Path], None]:
    def spoiled(path: Path) -> None:
        content = bytearray(path.read_bytes())
        change(content)
        path.write_bytes(content)

    return spoiled


def cut(content: bytearray) -> None:
    del content[len(content) // 2 :]


def cut_short(content: bytearray) -> None:
    """By a page: of the last one, the last bytes may say nothing."""
    del content[-4096:]


def scratch(content: bytearray) -> None:
    middle = len(content) // 2
    content[middle : middle + 20_000] = b"\xa5" * 20_000


def empty(content: bytearray) -> None:
    content.clear()


def foreign(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE something (x)")


def later(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()


def loose(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM shops WHERE id = 'north'")
        connection.commit()


@pytest.mark.parametrize(
    ("spoiled", "says"),
    [
        (spoil(cut), "malformed|not whole"),
        (spoil(cut_short), "malformed|not whole|not a database"),
        (spoil(scratch), "malformed|not whole"),
        (spoil(empty), "no database of this service"),
        (lambda path: path.write_text("no database at all " * 500), "not a database"),
        (foreign, "no database of this service"),
        (later, r"of a later version of the service \(step 9999\)"),
        (loose, "loose rows in"),
        (lambda path: path.unlink(), "there is no file"),
    ],
)
@pytest.mark.parametrize("there", [False, True])
def test_a_spoiled_or_foreign_file_is_refused_and_what_is_there_stays(
    store: Store,
    source: Path,
    target: Path,
    tmp_path: Path,
    spoiled: Callable[[Path], None],
    says: str,
    there: bool,
) -> None:
    back_up(url_of(source), target)
    spoiled(target)
    other = tmp_path / "other" / "store.sqlite3"
    other.parent.mkdir()
    if there:
        open_store(url_of(other)).close()
    before = dumped(other)
    with pytest.raises(BackupRefused, match=says):
        restore(url_of(other), target, replace=there)
    assert dumped(other) == before
    assert beside(other) == ([other.name] if there else [])


def test_a_database_that_is_there_is_replaced_only_where_that_is_said(
    store: Store, source: Path, target: Path, pack: Pack
) -> None:
    back_up(url_of(source), target)
    late = issue(store, pack, "R9")
    store.close()
    with pytest.raises(BackupRefused, match="is there already; say --replace to lose what is in it"):
        restore(url_of(source), target)
    kept = open_store(url_of(source))
    assert kept.procedure("local", late.id) is not None
    kept.close()
    os.chmod(source, 0o640)
    restore(url_of(source), target, replace=True)
    assert stat.S_IMODE(source.stat().st_mode) == 0o640
    restored = open_store(url_of(source))
    assert restored.procedure("local", late.id) is None
    assert restored.audit.verify().faults == ()
    restored.close()


def test_a_database_that_somebody_works_with_is_not_replaced(
    store: Store, source: Path, target: Path, pack: Pack
) -> None:
    """Also where that one does nothing at the moment: a service that goes on with the old file loses it."""
    back_up(url_of(source), target)
    store.ready()
    with pytest.raises(BackupRefused, match="is in use; stop the service first"):
        restore(url_of(source), target, replace=True)
    assert issue(store, pack, "R9").id
    store.close()
    restore(url_of(source), target, replace=True)


def test_a_database_that_may_not_be_written_to_is_not_replaced(
    store: Store, source: Path, target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That of another user, in a folder that this one may write into: nobody sees whether it is in use."""
    back_up(url_of(source), target)
    connect = sqlite3.connect

    def as_another(path: Path | str, **more: Any) -> sqlite3.Connection:
        return connect(f"file:{path}?mode=ro", uri=True) if path == source else connect(path, **more)

    monkeypatch.setattr(sqlite3, "connect", as_another)
    with pytest.raises(BackupRefused, match=r"cannot see whether .* is in use: .*; restore as the user"):
        restore(url_of(source), target, replace=True)


def test_a_link_to_a_file_leads_to_what_is_written(
    store: Store, source: Path, target: Path, tmp_path: Path
) -> None:
    (tmp_path / "volume").mkdir()
    far = {name: tmp_path / "volume" / name for name in ("backup", "database")}
    near = {name: tmp_path / f"{name}.link" for name in far}
    for name, file in far.items():
        near[name].symlink_to(file)
    back_up(url_of(source), near["backup"])
    restore(url_of(near["database"]), near["backup"])
    assert beside(far["backup"]) == ["backup", "database"]
    assert all(link.is_symlink() for link in near.values())
    restored = open_store(url_of(near["database"]), must_exist=True)
    assert rows(restored) == rows(store)
    restored.close()


def test_what_the_old_database_left_beside_itself_does_not_get_into_the_new_one(
    store: Store, source: Path, target: Path, tmp_path: Path
) -> None:
    back_up(url_of(source), target)
    store.close()
    crashed = tmp_path / "crashed.sqlite3"
    crashed.write_bytes(b"spoiled" * 1000)
    for ending in sqlite.BESIDE:
        crashed.with_name(crashed.name + ending).write_bytes(b"old" * 1000)
    restore(url_of(crashed), target, replace=True)
    assert [name for name in beside(crashed) if name.startswith("crashed")] == [crashed.name]
    restored = open_store(url_of(crashed))
    assert restored.audit.verify().faults == ()
    restored.close()


def test_a_backup_of_an_earlier_version_is_brought_to_the_present_shape(
    store: Store, source: Path, target: Path, tmp_path: Path
) -> None:
    step_to(store._engine, "0007")
    back_up(url_of(source), target)
    with closing(sqlite3.connect(target)) as copy:
        assert copy.execute("SELECT version_num FROM alembic_version").fetchone() == ("0007",)
    elsewhere = tmp_path / "restored.sqlite3"
    restore(url_of(elsewhere), target)
    engine = engine_for(url_of(elsewhere))
    with engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM link_secrets").scalar() == 0
    engine.dispose()


@pytest.mark.parametrize("name", ["with space.sqlite3", "50%.sqlite3", "ü#1.sqlite3", "a?b.backup"])
def test_names_of_files_are_names(store: Store, source: Path, tmp_path: Path, name: str) -> None:
    target = tmp_path / name
    told = back_up(url_of(source), target)
    assert restore(url_of(tmp_path / "restored.sqlite3"), target) == told
