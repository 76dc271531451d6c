from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from api.commands import main
from storage.key_records import WrittenKey
from storage.store import Store, open_store


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


@pytest.fixture
def database(tmp_path: Path) -> str:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    open_store(url).close()
    return url


def made(database: str, *arguments: str) -> WrittenKey:
    result = run("keys", "create", "--name", "front desk", "--scope", "line-items", *arguments, *at(database))
    assert result.exit_code == 0, result.output
    written = WrittenKey.read(result.stdout.removesuffix("\n"))
    assert written is not None
    return written


def at(database: str) -> tuple[str, str]:
    return "--database", database


def opened(database: str) -> Store:
    return open_store(database)


def holds(database: str, written: WrittenKey, moment: datetime | None = None) -> bool:
    store = opened(database)
    found = store.keys.find(written, moment or datetime.now(UTC))
    store.close()
    return found is not None


def listed(database: str, *arguments: str) -> list[list[str]]:
    result = run("keys", "list", *arguments, *at(database))
    assert result.exit_code == 0, result.output
    return [line.split() for line in result.output.splitlines()]


def test_the_key_alone_is_on_standard_output_so_that_it_can_be_piped(database: str) -> None:
    result = run(
        "keys", "create", "--name", "front desk", "--scope", "rules", "--scope", "admin", *at(database)
    )
    written = WrittenKey.read(result.stdout.removesuffix("\n"))
    assert written is not None
    assert holds(database, written)
    assert written.prefix in result.stderr
    assert "never shown again" in result.stderr
    assert written.secret not in result.stderr


def test_keys_are_listed_without_their_secrets(database: str) -> None:
    written = made(database, "--expires", "2099-01-02T03:04:00+01:00")
    heading, row = listed(database)
    assert heading == ["prefix", "shop", "scopes", "state", "expires", "last", "used", "name"]
    assert row == [
        written.prefix,
        *("local", "line-items", "holds", "2099-01-02", "02:04", "-", "front", "desk"),
    ]
    assert written.secret not in run("keys", "list", *at(database)).output


def test_a_revoked_key_is_told_as_one(database: str) -> None:
    written = made(database)
    result = run("keys", "revoke", written.prefix, *at(database))
    assert (result.exit_code, result.output) == (0, f"{written.prefix}: revoked\n")
    assert not holds(database, written)
    assert listed(database)[1][3] == "revoked"


def test_an_expired_key_is_told_as_one(database: str) -> None:
    written = made(database, "--expires", "now")
    assert not holds(database, written)
    assert listed(database)[1][3] == "expired"


def test_a_rotated_key_holds_a_day_longer_unless_told_otherwise(database: str) -> None:
    old = made(database)
    result = run("keys", "rotate", old.prefix, *at(database))
    new = WrittenKey.read(result.stdout.removesuffix("\n"))
    assert new is not None
    assert f"{old.prefix} holds until" in result.stderr
    now = datetime.now(UTC)
    assert holds(database, old, now + timedelta(hours=23))
    assert not holds(database, old, now + timedelta(hours=25))
    assert holds(database, new, now + timedelta(days=900))
    assert listed(database)[1][3:6] == ["rotated", "to", new.prefix]
    ended = run("keys", "rotate", new.prefix, "--until", "now", *at(database))
    assert ended.exit_code == 0
    assert not holds(database, new)


def test_keys_of_one_shop_are_listed_alone(database: str) -> None:
    made(database)
    run("shops", "create", "north", "--name", "The shop in the north", *at(database))
    written = made(database, "--shop", "north")
    assert [row[0] for row in listed(database, "--shop", "north")[1:]] == [written.prefix]
    assert len(listed(database)) == 3


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("keys", "revoke", "nosuchkey"), "no key has the prefix 'nosuchkey'; `stagewright keys list` shows"),
        (("keys", "rotate", "nosuchkey"), "no key has the prefix 'nosuchkey'"),
        (("keys", "list", "--shop", "north"), "there is no shop 'north'; there are local"),
        (
            ("keys", "create", "--name", "x", "--scope", "rules", "--shop", "north"),
            "there is no shop 'north'",
        ),
        (("shops", "create", "North", "--name", "x"), "'North' cannot be the id of a shop; write small"),
        (("shops", "create", "local", "--name", "x"), "there is a shop 'local' already; choose another"),
    ],
)
def test_what_cannot_be_done_is_told(database: str, arguments: tuple[str, ...], says: str) -> None:
    result = run(*arguments, *at(database))
    assert result.exit_code == 1
    assert says in result.output


@pytest.mark.parametrize(
    ("expires", "says"),
    [
        ("2099-01-02", "'2099-01-02' has no offset; write it like 2099-01-02+00:00"),
        ("tomorrow", "'tomorrow' is not a time; write it like 2027-03-01T08:00:00+01:00, or now"),
        ("2001-01-02T03:04:05+00:00", "is past; name a time to come, or now"),
    ],
)
def test_a_time_that_cannot_be_is_told(database: str, expires: str, says: str) -> None:
    result = run("keys", "create", "--name", "x", "--scope", "rules", "--expires", expires, *at(database))
    assert result.exit_code == 2
    assert says in " ".join(result.output.split())
    assert len(listed(database)) == 1


def test_a_scope_there_is_not_is_told_with_those_that_there_are(database: str) -> None:
    result = run("keys", "create", "--name", "x", "--scope", "everything", *at(database))
    assert result.exit_code == 2
    assert "'line-items', 'rules', 'admin'" in result.output


def test_a_database_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    result = run("keys", "list", "--database", f"sqlite:///{tmp_path}/none.sqlite3")
    assert result.exit_code == 1
    assert "there is no database" in result.output
    assert not (tmp_path / "none.sqlite3").exists()


def test_shops_are_made_and_listed(database: str) -> None:
    result = run("shops", "create", "north", "--name", "The shop in the north", *at(database))
    assert (result.exit_code, result.output) == (0, "north: created\n")
    rows = [line.split(maxsplit=2) for line in run("shops", "list", *at(database)).output.splitlines()]
    assert rows[0] == ["shop", "since", "name"]
    assert [(row[0], row[2]) for row in rows[1:]] == [
        ("local", "The shop of this service"),
        ("north", "The shop in the north"),
    ]


@pytest.mark.parametrize(
    "command",
    ["shops", "shops create", "shops list", "keys", "keys create", "keys list", "keys revoke", "keys rotate"],
)
def test_every_command_shows_an_example(command: str) -> None:
    result = run(*command.split(), "--help")
    assert result.exit_code == 0
    assert f"Example: stagewright {command}" in result.output
