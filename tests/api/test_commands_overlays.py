from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from flask import Flask
from keys_at_hand import NORTH, SOUTH, caller, keyed_service, store_of
from packs_at_hand import activate, in_an_hour, keep, version
from shop_packs_at_hand import house_rules, keep_for

from api.commands import main
from storage.shops import LOCAL


@pytest.fixture
def database(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path}/store.sqlite3"


@pytest.fixture
def keyed(database: str, tmp_path: Path) -> Flask:
    return keyed_service(tmp_path)


def run(database: str, *arguments: str) -> Result:
    result = CliRunner().invoke(main, ["shops", "overlays", "--database", database, *arguments])
    assert result.exit_code == 0, result.output
    return result


def rows(result: Result) -> list[list[str]]:
    """The words of every line but the heading."""
    return [line.split() for line in result.output.splitlines()[1:]]


def test_nothing_is_shown_where_all_shops_follow_the_service(keyed: Flask, database: str) -> None:
    assert run(database).output == run(database, "--behind").output == ""


def test_who_has_an_overlay_is_shown_and_who_is_behind(keyed: Flask, database: str) -> None:
    first = keep_for(keyed, NORTH, house_rules(5))
    activate(caller(keyed, NORTH), first.digest)
    activate(caller(keyed, SOUTH), keep_for(keyed, SOUTH, house_rules(6)).digest, effective_from=in_an_hour())
    ((shop, name, pack_version, digest, *below, since),) = rows(run(database))
    assert (shop, name, pack_version, digest) == (NORTH, "shop", "1.0.0", f"({first.digest[:8]})")
    assert below[:2] == ["small", "1.0.0"]
    assert since.startswith("20")
    assert rows(run(database, "--behind")) == []
    newer = keep(keyed, version(3))
    activate(caller(keyed, LOCAL), newer.digest)
    activate(caller(keyed, SOUTH), keep_for(keyed, SOUTH, house_rules(7)).digest)
    assert [row[0] for row in rows(run(database))] == [NORTH, SOUTH]
    ((shop, *_, told),) = rows(run(database, "--behind"))
    assert (shop, told) == (NORTH, "behind")
    activate(caller(keyed, NORTH), None)
    assert rows(run(database, "--behind")) == []
    store_of(keyed).close()
