from __future__ import annotations

from pathlib import Path

import pytest
from checked_client import snapshot
from click.testing import CliRunner, Result
from packs_at_hand import activate, keep, small_service, version
from sqlalchemy import text

from api.commands import main
from storage.store import open_store


def verify(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["audit", "verify", *arguments])


@pytest.fixture
def database(tmp_path: Path) -> str:
    """The database of a service that put two packs in force."""
    app = small_service(tmp_path)
    assert activate(app.test_client(), keep(app, version(3)).digest).status_code == 200
    store = snapshot(app).store
    store.close()
    return str(store._engine.url)


def test_a_whole_chain_is_told_with_its_head(database: str) -> None:
    result = verify("--database", database)
    assert result.exit_code == 0
    assert result.output.startswith("5 entries, whole; the last is ")
    head = result.output.split()[-1]
    assert verify("--database", database, "--head", head).exit_code == 0
    result = verify("--database", database, "--head", "0123")
    assert result.exit_code == 2
    assert "no entry has the hash 0123: entries were taken away" in result.output


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE audit SET entry = replace(entry, 'small', 'large') WHERE number = 1", "entry 1 was changed"),
        ("DELETE FROM audit WHERE number = 3", "entry 3 is missing"),
        ("UPDATE activations SET origin = 'folder' WHERE number = 2", "activation 2 is not the one"),
    ],
)
def test_a_changed_row_is_told(database: str, statement: str, says: str) -> None:
    store = open_store(database)
    with store._engine.begin() as connection:
        connection.execute(text(statement))
    store.close()
    result = verify("--database", database)
    assert result.exit_code == 2
    assert says in result.output
    assert "broken" in result.output


def test_the_first_broken_entry_is_told_first(database: str) -> None:
    """Also where later ones are broken too; the entries after it that are whole are not accused."""
    store = open_store(database)
    with store._engine.begin() as connection:
        for number in (4, 2):
            changed = f"UPDATE audit SET entry = replace(entry, '\"at\"', '\"on\"') WHERE number = {number}"
            connection.execute(text(changed))
    store.close()
    result = verify("--database", database)
    assert result.stderr.splitlines()[:2] == ["entry 2 was changed", "entry 4 was changed"]


def test_the_database_may_be_named_by_the_environment(database: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STAGEWRIGHT_DATABASE", database)
    assert verify().exit_code == 0


def test_a_database_that_is_not_there_is_told_and_not_created(tmp_path: Path) -> None:
    path = tmp_path / "none.sqlite3"
    result = verify("--database", f"sqlite:///{path}")
    assert result.exit_code == 1
    assert "there is no database sqlite:///" in result.output
    assert not path.exists()
