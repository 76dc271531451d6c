from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from api.commands import main
from schemas.webhooks import URL
from storage.shops import LOCAL
from storage.store import open_store
from storage.webhook_records import NewWebhook

SECRET_PATH = f"{URL}/token-of-the-receiver"


@pytest.fixture
def database(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path}/store.sqlite3"


@pytest.fixture
def made(database: str) -> NewWebhook:
    store = open_store(database)
    store.shops.create("north", "The shop in the north", "command line")
    found = store.webhooks.create(LOCAL, SECRET_PATH, ["procedure.issued"], "for the front desk")
    store.close()
    return found


def run(database: str, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["webhooks", *arguments, "--database", database])


def rows(database: str, *arguments: str) -> list[str]:
    result = run(database, "list", *arguments)
    assert result.exit_code == 0, result.output
    return result.output.splitlines()[1:]


def test_a_list_tells_the_host_and_no_secret(database: str, made: NewWebhook) -> None:
    (row,) = rows(database)
    assert row.split() == [
        *(made.webhook.id, "on", "shop.example", "procedure.issued", "for", "the", "front", "desk"),
    ]
    assert made.secret not in row
    assert "token" not in row
    assert rows(database, "--shop", "north") == []


def test_a_webhook_is_stopped_and_goes_on(database: str, made: NewWebhook) -> None:
    stopped = run(database, "disable", made.webhook.id)
    assert (stopped.exit_code, stopped.output) == (0, f"{made.webhook.id}: paused\n")
    assert "paused (by_request)" in rows(database)[0]
    on = run(database, "enable", made.webhook.id)
    assert (on.exit_code, on.output) == (0, f"{made.webhook.id}: goes on\n")
    assert rows(database)[0].split()[1] == "on"


@pytest.mark.parametrize("command", ["disable", "enable"])
def test_what_is_not_there_is_told(database: str, made: NewWebhook, command: str) -> None:
    unknown = run(database, command, f"wh_{'0' * 32}")
    assert unknown.exit_code == 1
    assert f"there is no webhook 'wh_{'0' * 32}'" in unknown.output
    of_another = run(database, command, made.webhook.id, "--shop", "north")
    assert of_another.exit_code == 1
    nowhere = run(database, command, made.webhook.id, "--shop", "south")
    assert "south" in nowhere.output
    assert nowhere.exit_code == 1
    assert rows(database)[0].split()[1] == "on"
