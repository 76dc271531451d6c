"""`stagewright backup` and `stagewright restore`, on the database of a service."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from checked_client import serving
from click.testing import CliRunner, Result
from flask import Flask
from keys_at_hand import NORTH, caller, key, store_of, with_key
from packs_at_hand import issue
from served import served
from small_pack import small_pack

from api.commands import main


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def database(app: Flask) -> str:
    return str(store_of(app)._engine.url)


def change(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute(statement).rowcount == 1
        connection.commit()


@pytest.fixture
def copied(keyed: Flask, tmp_path: Path) -> Path:
    """A backup of a service that issued two procedures."""
    for reference in ("R1", "R2"):
        issue(caller(keyed, NORTH), reference=reference)
    target = tmp_path / "stagewright.backup"
    result = run("backup", str(target), "--database", database(keyed))
    assert result.exit_code == 0, result.output
    head = store_of(keyed).audit.verify()
    assert result.output == f"{target}: 2 procedures, {head.entries} audit entries, the last is {head.head}\n"
    return target


def test_a_service_goes_on_with_what_was_restored(keyed: Flask, tmp_path: Path) -> None:
    written = key(keyed, NORTH)
    procedure, target = issue(with_key(keyed, written)), tmp_path / "stagewright.backup"
    assert run("backup", str(target), "--database", database(keyed)).exit_code == 0
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    result = run("restore", str(target), "--database", f"sqlite:///{folder / 'store.sqlite3'}")
    assert result.exit_code == 0, result.output
    assert result.output.startswith("restored: 1 procedures, ")
    assert result.output.endswith("the audit is whole, and every procedure is as it was issued\n")
    restored = service_on(folder)
    answered = with_key(restored, written).get(procedure["links"]["self"])
    assert answered.json == procedure
    store_of(restored).close()


def service_on(folder: Path) -> Flask:
    return serving(folder / "store.sqlite3", pack_folder=small_pack(folder / "pack"), without_keys=False)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        (
            "UPDATE procedures SET document = replace(document, 'Wash it.', 'Skip it.') WHERE id ="
            " (SELECT min(id) FROM procedures)",
            "of the shop 'north' was changed",
        ),
        (
            "UPDATE audit SET entry = replace(entry, 'origin', 'begin') WHERE number = 2",
            "entry 2 was changed",
        ),
    ],
)
def test_what_was_changed_in_a_backup_is_told_after_the_restore(
    copied: Path, tmp_path: Path, statement: str, says: str
) -> None:
    change(copied, statement)
    result = run("restore", str(copied), "--database", f"sqlite:///{tmp_path / 'restored.sqlite3'}")
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stdout.endswith("it is broken\n")


def test_what_cannot_be_done_is_told_and_leaves_no_trace(copied: Path, keyed: Flask, tmp_path: Path) -> None:
    again = run("backup", str(copied), "--database", database(keyed))
    assert (again.exit_code, "say --overwrite" in again.output) == (1, True)
    assert run("backup", str(copied), "--overwrite", "--database", database(keyed)).exit_code == 0
    there = run("restore", str(copied), "--database", database(keyed))
    assert (there.exit_code, "say --replace" in there.output) == (1, True)
    nothing = run("restore", str(tmp_path / "none"), "--database", f"sqlite:///{tmp_path / 'x.sqlite3'}")
    assert (nothing.exit_code, "there is no file" in nothing.output) == (1, True)
    assert not (tmp_path / "x.sqlite3").exists()
    missing = run("backup", str(tmp_path / "new"), "--database", f"sqlite:///{tmp_path / 'none.sqlite3'}")
    assert (missing.exit_code, "there is no database" in missing.output) == (1, True)
    assert not (tmp_path / "new").exists()


def test_the_database_of_a_running_service_is_not_replaced(tmp_path: Path) -> None:
    with served(tmp_path):
        url, target = f"sqlite:///{tmp_path / 'store.sqlite3'}", tmp_path / "stagewright.backup"
        assert run("backup", str(target), "--database", url).exit_code == 0
        refused = run("restore", str(target), "--replace", "--database", url)
        assert refused.exit_code == 1
        assert "is in use; stop the service first" in refused.output
    assert run("restore", str(target), "--replace", "--database", url).exit_code == 0


STANDING_STILL = """
import signal, sys, time
from api.commands import main
from storage.backups import sqlite

def stand_still(*_arguments):
    print("copied", flush=True)
    time.sleep(60)

sqlite._looked_through = stand_still
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # whoever runs the tests may ignore it
main(sys.argv[1:])
"""


@pytest.mark.parametrize("command", ["backup", "restore"])
@pytest.mark.parametrize("which", [signal.SIGTERM, signal.SIGHUP])
def test_a_command_that_is_stopped_leaves_all_as_it_was(
    copied: Path, keyed: Flask, tmp_path: Path, command: str, which: signal.Signals
) -> None:
    """By an init system, say, or with the terminal: the copy holds secrets, and is not to lie about."""
    url = database(keyed) if command == "backup" else f"sqlite:///{tmp_path / 'restored.sqlite3'}"
    more = ["--overwrite"] if command == "backup" else []
    before, was = sorted(tmp_path.iterdir()), copied.read_bytes()
    arguments = [sys.executable, "-c", STANDING_STILL, command, str(copied), "--database", url, *more]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) as stopped:
        assert stopped.stdout is not None
        assert stopped.stdout.readline() == "copied\n"
        assert len(sorted(tmp_path.iterdir())) == len(before) + 1
        stopped.send_signal(which)
    assert stopped.returncode == 128 + which
    assert (sorted(tmp_path.iterdir()), copied.read_bytes()) == (before, was)


@pytest.mark.parametrize("command", ["backup", "restore"])
def test_every_command_shows_an_example(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"Example: stagewright {command}" in result.output
