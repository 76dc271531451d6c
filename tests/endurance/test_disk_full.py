"""No room for the database: that is told, what is kept is read, nothing is lost, and it goes on with room."""

from __future__ import annotations

import os
import resource
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from waiting import until

from bench.line_items import typical_line_items
from endurance.calling import Answer, Caller
from endurance.crash.checking import faults_of_all, repeat
from endurance.crash.databases import Database
from endurance.crash.ledger import Asked
from endurance.crash.writers import Writer
from endurance.services import SERVE, Service, running, start

LITTLE_MORE = 300_000
"""So many bytes a file may still grow, where its size is bounded."""

SMALL_DISK = "32m"
"""With room, once the ballast is gone, for all that writers send until they are ended."""
UNLIMITED = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)


@contextmanager
def small_disk(folder: Path) -> Iterator[Path]:
    """A file system in memory, which ends where it ends."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={SMALL_DISK}", "tmpfs", str(folder)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("needs the right to mount a file system")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def test_a_disk_that_is_full(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        ballast = disk / "ballast"
        with running(SERVE, tmp_path, f"sqlite:///{disk}/store.sqlite3") as service:
            room = os.statvfs(disk)
            ballast.write_bytes(bytes(room.f_bavail * room.f_bsize - LITTLE_MORE))
            _hold(service, disk, "database or disk is full", make_room=ballast.unlink)


def test_a_bound_on_the_size_of_files(tmp_path: Path) -> None:
    """As quotas do, it lets writes fail in another way than a full disk."""
    with running(SERVE, tmp_path, f"sqlite:///{tmp_path}/store.sqlite3") as service:
        largest = max(file.stat().st_size for file in tmp_path.glob("store.sqlite3*"))
        process = service.process.pid
        resource.prlimit(process, resource.RLIMIT_FSIZE, (largest + LITTLE_MORE, resource.RLIM_INFINITY))
        _hold(
            service,
            tmp_path,
            "disk I/O error",
            make_room=lambda: resource.prlimit(process, resource.RLIMIT_FSIZE, UNLIMITED),
        )


def _hold(service: Service, folder: Path, reason: str, make_room: Callable[[], object]) -> None:
    """Writers write until there is no room, and on when there is again."""
    writers = [Writer(service.port, f"RO-{n}", n) for n in range(3)]
    for writer in writers:
        writer.start()
    until(lambda: all(any(_failed(each) for each in writer.asked) for writer in writers))
    caller, asked = Caller(service.port), [each for writer in writers for each in writer.asked]
    for each in asked:
        for document in each.procedures() if _done(each) else []:
            assert caller.get(f"/v1/procedures/{document['id']}").json() == document
    assert caller.get("/readyz").status == 200

    make_room()
    known = {writer: len(writer.asked) for writer in writers}
    until(lambda: all(any(map(_done, writer.asked[known[writer] :])) for writer in writers))
    for writer in writers:
        writer.end()

    asked, database = [each for writer in writers for each in writer.asked], Database(_url(folder))
    for each in filter(_failed, asked):
        repeat(each, caller, database.let_leases_end)
    database.let_leases_end()
    faults = faults_of_all(asked, caller, database, keys_may_be_lost=True)
    database.close()
    assert faults == []
    assert f"{folder}/store.sqlite3 takes no changes: {reason}" in service.log.read_text()


def test_a_disk_that_is_read_only_is_read(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        with running(SERVE, tmp_path, _url(disk)) as service:
            issued = _issue(service, "RO-1")
            assert issued.status == 201
        _remount_read_only(disk)
        with running(SERVE, tmp_path, _url(disk)) as service:
            refused = _issue(service, "RO-2")
            assert (refused.status, refused.json()["type"]) == (507, "/problems/store-not-writable")
            read = Caller(service.port).get(f"/v1/procedures/{issued.json()['id']}")
            assert read.json() == issued.json()
            assert f"{disk}/store.sqlite3 takes no changes: attempt to write" in service.log.read_text()


def test_a_read_only_folder_with_a_file_that_was_closed_in_order_is_told_at_the_start(tmp_path: Path) -> None:
    """SQLite reads no file in WAL mode where it may not put another one beside it."""
    with small_disk(tmp_path / "disk") as disk:
        service = start(SERVE, tmp_path, _url(disk))
        assert service.stop() == 0
        assert [file.name for file in disk.iterdir()] == ["store.sqlite3"]
        _remount_read_only(disk)
        with pytest.raises(RuntimeError, match=r"disk/store\.sqlite3: .* allowed to write into it"):
            start(SERVE, tmp_path, _url(disk))


def _remount_read_only(disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)


def _issue(service: Service, reference: str) -> Answer:
    body = {**typical_line_items()[0].body, "line_item": {"reference": reference}}
    return Caller(service.port).post("/v1/procedures", body)


def _url(folder: Path) -> str:
    return f"sqlite:///{folder}/store.sqlite3"


def _failed(asked: Asked) -> bool:
    """Refused for want of room: the whole of it, or line items of a batch."""
    answer = asked.answer
    if answer is None or _done(asked):
        return False
    assert answer.status in (200, 507), answer
    assert answer.status == 200 or int(answer.headers["Retry-After"]) > 0
    assert b"/problems/store-not-writable" in answer.body
    return True


def _done(asked: Asked) -> bool:
    answer = asked.answer
    return answer is not None and answer.status in (200, 201) and b"/problems/" not in answer.body
