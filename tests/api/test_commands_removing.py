"""`stagewright shops delete`, `keep` and `export`, and `stagewright retention`, on a service's database."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from click.testing import CliRunner, Result
from flask import Flask
from keys_at_hand import NORTH, SOUTH, caller, key, store_of, with_key
from packs_at_hand import issue, told
from sqlalchemy import update
from test_links import given as link
from test_links import is_refused as link_is_refused

from api.commands import main
from storage.tables import latest_procedures, line_items


def run(app: Flask, *arguments: str, typed: str | None = None) -> Result:
    database = str(store_of(app)._engine.url)
    return CliRunner().invoke(main, [*arguments, "--database", database], input=typed)


def done(app: Flask, *arguments: str, typed: str | None = None) -> str:
    result = run(app, *arguments, typed=typed)
    assert result.exit_code == 0, result.output
    return result.stdout


def age(app: Flask, days: int, shop: str = NORTH) -> None:
    """As if everything of a shop had been issued so many days ago."""
    at = datetime.now(UTC) - timedelta(days=days)
    with store_of(app)._engine.begin() as connection:
        for table in (line_items, latest_procedures):
            connection.execute(update(table).where(table.c.shop == shop).values(issued_at=at))


def ids(app: Flask) -> list[str]:
    return [shop.id for shop in store_of(app).shops.all()]


def test_a_dry_run_of_a_deletion_counts_and_deletes_nothing(keyed: Flask) -> None:
    north = caller(keyed, NORTH)
    issue(north)
    lines = done(keyed, "shops", "delete", NORTH, "--dry-run").splitlines()
    assert {"api_keys: 1", "procedures: 1", "line_items: 1"} <= set(lines)
    assert NORTH in ids(keyed)
    assert north.get("/v1/substrates").status_code == 200


@pytest.mark.parametrize("typed", ["", "south\n", "yes\n", "y\n", "North\n"])
def test_nothing_is_deleted_unless_the_id_is_written(keyed: Flask, typed: str) -> None:
    result = run(keyed, "shops", "delete", NORTH, typed=typed)
    assert result.exit_code == 1
    assert NORTH in ids(keyed)


@pytest.mark.parametrize(("more", "typed"), [((), "north\n"), (("--yes",), None)])
def test_a_deleted_shop_is_a_stranger_to_a_running_service(
    keyed: Flask, more: tuple[str, ...], typed: str | None
) -> None:
    north, south = caller(keyed, NORTH), caller(keyed, SOUTH)
    procedure = issue(north)
    url = link(north, procedure["id"])
    assert done(keyed, "shops", "delete", NORTH, *more, typed=typed).endswith("north: deleted\n")
    assert north.get(f"/v1/procedures/{procedure['id']}").status_code == 401
    assert link_is_refused(keyed.test_client().get(url))
    assert ids(keyed) == ["local", SOUTH]
    assert issue(south)["id"] == procedure["id"]
    assert done(keyed, "audit", "verify").split(", ")[1].startswith("whole")


def test_the_shop_of_the_service_and_one_that_is_not_there_are_told(keyed: Flask) -> None:
    for shop, says in (
        ("local", "'local' runs the service, so it stays"),
        ("east", "there is no shop 'east'"),
    ):
        for more in ("--yes", "--dry-run"):
            result = run(keyed, "shops", "delete", shop, more)
            assert result.exit_code == 1
            assert says in result.output


def test_a_shop_comes_out_as_json_lines_without_its_secrets(keyed: Flask) -> None:
    written = key(keyed, NORTH)
    procedure = issue(with_key(keyed, written))
    issue(caller(keyed, SOUTH), reference="of south")
    output = done(keyed, "shops", "export", NORTH)
    heading, *found = [json.loads(line) for line in output.splitlines()]
    assert (heading["table"], heading["shop"]) == ("export", NORTH)
    assert sum(heading["rows"].values()) == len(found)
    (kept,) = [row for row in found if row["table"] == "procedures"]
    assert kept["document"] == procedure
    assert written.secret not in output
    assert written.prefix in output
    assert "of south" not in output


def test_old_line_items_are_not_found_any_more(keyed: Flask) -> None:
    north = caller(keyed, NORTH)
    procedure: Any = issue(north)
    url = link(north, procedure["id"])
    age(keyed, 800)
    fresh = issue(north, reference="R2")
    output = done(keyed, "retention", "--older-than", "730", "--dry-run")
    assert "north: 1 line items, 1 procedures and 0 reports of before" in output
    assert "would be removed" in output
    assert north.get(procedure["links"]["self"]).status_code == 200
    output = done(keyed, "retention", "--older-than", "730")
    assert "north: 1 line items, 1 procedures and 0 reports of before" in output
    assert "local: 0 line items" in output
    for place in ("self", "timeline", "explanation"):
        told(north.get(procedure["links"][place]), 404, "procedure-unknown")
    assert link_is_refused(keyed.test_client().get(url))
    assert north.get("/v1/procedures?line_item=R1").json == {"items": []}
    assert north.get(fresh["links"]["self"]).status_code == 200
    assert issue(north)["id"] == procedure["id"]


def test_the_time_of_a_shop_goes_before_that_of_all(keyed: Flask) -> None:
    for shop in (NORTH, SOUTH):
        issue(caller(keyed, shop))
        age(keyed, 100, shop)
    assert done(keyed, "shops", "keep", NORTH, "--days", "400") == "north: keeps line items 400 days\n"
    output = done(keyed, "retention", "--older-than", "30")
    assert "north: 0 line items" in output
    assert "south: 1 line items" in output
    assert done(keyed, "shops", "keep", NORTH, "--no-limit") == "north: says no time of its own\n"
    assert "north: 1 line items" in done(keyed, "retention", "--older-than", "30", "--shop", NORTH)


def test_what_nobody_sets_a_time_for_is_kept(keyed: Flask) -> None:
    north = caller(keyed, NORTH)
    procedure = issue(north)
    age(keyed, 5000)
    output = done(keyed, "retention")
    assert "north: keeps everything; see --older-than" in output
    assert north.get(procedure["links"]["self"]).status_code == 200


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("retention", "--shop", "east"), 1, "there is no shop 'east'"),
        (("retention", "--older-than", "-1"), 2, "-1 is not in the range"),
        (("retention", "--older-than", "40000"), 2, "40000 is not in the range"),
        (("retention", "--older-than", "1.5"), 2, "not a valid integer"),
        (("shops", "keep", "east", "--days", "3"), 1, "there is no shop 'east'"),
        (("shops", "keep", NORTH), 2, "name either --days or --no-limit"),
        (("shops", "keep", NORTH, "--days", "3", "--no-limit"), 2, "name either --days or --no-limit"),
        (("shops", "export", "east"), 1, "there is no shop 'east'"),
    ],
)
def test_what_cannot_be_done_is_told(keyed: Flask, arguments: tuple[str, ...], code: int, says: str) -> None:
    result = run(keyed, *arguments)
    assert result.exit_code == code
    assert says in result.output


@pytest.mark.parametrize(
    "command", ["retention", "shops keep", "shops export", "shops delete", "links", "links revoke"]
)
def test_every_command_shows_an_example(command: str) -> None:
    result = CliRunner().invoke(main, [*command.split(), "--help"])
    assert result.exit_code == 0
    assert "Example: stagewright" in result.output
