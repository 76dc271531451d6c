from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from actuals_at_hand import taken
from checked_client import snapshot
from click.testing import CliRunner, Result
from packs_at_hand import small_service

from api.commands import main
from storage.store import open_store

LINE_ITEM = {
    "line_item": {"reference": "RO-20417-3"},
    "part": {"name": "front bumper cover", "material": "PP"},
    "damage": {"type": "scratch"},
}


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["estimates", *arguments])


@pytest.fixture
def database(tmp_path: Path) -> str:
    """The database of a service that was told of one stage that took long, and of one that cannot be."""
    app = small_service(tmp_path)
    procedure = app.test_client().post("/v1/procedures", json=LINE_ITEM).json
    assert procedure is not None
    taken(
        app.test_client(),
        procedure,
        {"stage": "wash", "work_min": 8},
        {"stage": "adhesion-promoter", "work_min": 0},
    )
    store = snapshot(app).store
    store.close()
    return str(store._engine.url)


def shown(database: str) -> list[list[str]]:
    result = run("list", "--database", database)
    assert result.exit_code == 0, result.output
    return [line.split() for line in result.output.splitlines()]


def test_what_was_learned_is_listed(database: str) -> None:
    heading, promoter, wash, over_all = shown(database)
    assert heading == ["stage", "jobs", "set", "aside", "factor", "p50", "p80", "p95"]
    assert promoter[:4] == ["adhesion-promoter", "0", "1", "1.00"]
    assert wash[:3] == ["wash", "1", "0"]
    assert 1 < float(wash[3]) == float(wash[4]) < float(wash[5]) < float(wash[6])
    assert over_all[:4] == ["Over", "all", "the", "shop"]


def test_an_estimate_is_frozen_and_let_go(database: str) -> None:
    assert run("freeze", "wash", "adhesion-promoter", "--database", database).exit_code == 0
    assert [row[-1] for row in shown(database)[1:3]] == ["frozen", "frozen"]
    assert run("unfreeze", "wash", "--database", database).exit_code == 0
    assert [row[-1] == "frozen" for row in shown(database)[1:3]] == [True, False]


def test_an_estimate_is_begun_anew_and_the_reports_stay(database: str) -> None:
    result = run("reset", "wash", "--database", database)
    assert (result.exit_code, result.output) == (0, "wash: begun anew\n")
    assert shown(database)[2][:4] == ["wash", "0", "0", "1.00"]
    exported = run("export", "--format", "jsonl", "--database", database).output
    states = [json.loads(line)["state"] for line in exported.splitlines()]
    assert states == ["before_reset", "set_aside"]


def test_every_decision_is_in_the_audit(database: str) -> None:
    before = entries(database)
    for command in ("freeze", "unfreeze", "reset"):
        assert run(command, "wash", "--database", database).exit_code == 0
    assert entries(database) == before + 3


def entries(database: str) -> int:
    store = open_store(database)
    report = store.audit.verify()
    store.close()
    assert report.faults == ()
    return report.entries


def test_reports_are_exported_as_a_table(database: str) -> None:
    result = run("export", "--database", database)
    assert result.exit_code == 0
    rows = list(csv.DictReader(io.StringIO(result.output)))
    assert [(row["stage"], row["work_min"], row["reason"]) for row in rows] == [
        ("wash", "8", ""),
        ("adhesion-promoter", "0", "no_time"),
    ]


@pytest.mark.parametrize("command", ["freeze", "unfreeze", "reset"])
def test_a_stage_that_the_catalogue_lacks_changes_nothing(database: str, command: str) -> None:
    before = shown(database)
    result = run(command, "wash", "polish", "--database", database)
    assert result.exit_code == 1
    assert "the catalogue has no stage 'polish'" in result.output
    assert shown(database) == before


@pytest.mark.parametrize("command", [["freeze", "wash"], ["list"], ["export"]])
def test_a_shop_that_is_not_there_is_told(database: str, command: list[str]) -> None:
    result = run(*command, "--shop", "elsewhere", "--database", database)
    assert result.exit_code == 1
    assert "there is no shop 'elsewhere'; there are local" in result.output


@pytest.mark.parametrize("command", [["list"], ["freeze", "wash"], ["export"]])
def test_a_database_that_is_not_there_is_told_and_not_created(tmp_path: Path, command: list[str]) -> None:
    path = tmp_path / "none.sqlite3"
    result = run(*command, "--database", f"sqlite:///{path}")
    assert result.exit_code == 1
    assert "there is no database sqlite:///" in result.output
    assert not path.exists()


@pytest.mark.parametrize("command", [[], ["list"], ["freeze"], ["unfreeze"], ["reset"], ["export"]])
def test_every_command_shows_an_example(command: list[str]) -> None:
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert "Example: stagewright estimates" in result.output
