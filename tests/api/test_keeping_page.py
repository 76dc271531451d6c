"""The page on what to store: its code survives a crash between any two steps."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from copy import deepcopy
from typing import Any
from unittest import mock
from uuid import uuid4

import pytest
import requests
from flask import Flask
from flask.testing import FlaskClient
from pages_at_hand import listening, prose_of, run_code

from schemas.examples import MINIMAL
from storage.deliveries import RETENTION
from storage.idempotency import LIFETIME

PAGE = "keeping.md"


@pytest.fixture(scope="module")
def code(app: Flask) -> Iterator[dict[str, Any]]:
    with listening(app) as address:
        yield run_code(PAGE, address)


@pytest.fixture
def database(code: dict[str, Any]) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(":memory:")
    code["make_room"](connection)
    yield connection
    connection.close()


def line_item(**damage: Any) -> dict[str, Any]:
    body = deepcopy(MINIMAL)
    body["line_item"]["reference"] = f"RO-{uuid4().hex[:12]}"
    body["damage"] |= damage
    return body


def kept(database: sqlite3.Connection) -> list[Any]:
    return database.execute("SELECT procedure_id, pack_digest, document FROM line_items").fetchall()


def test_what_was_entered_is_sent_and_kept_as_it_came(
    client: FlaskClient, code: dict[str, Any], database: sqlite3.Connection
) -> None:
    code["enter"](database, line_item())
    code["send_what_waits"](database)
    ((identifier, digest, document),) = kept(database)
    read = client.get(f"/v1/procedures/{identifier}")
    assert read.json == json.loads(document)
    assert read.headers["ETag"] == f'"{identifier}"'
    assert read.json["pack"]["digest"] == digest


def test_a_crash_after_the_answer_is_no_second_procedure(
    code: dict[str, Any], database: sqlite3.Connection
) -> None:
    post, answers = requests.post, []

    def lost(*args: Any, **options: Any) -> Any:
        answers.append(post(*args, **options))
        raise ConnectionError("the machine went down before the answer was read")

    code["enter"](database, line_item())
    with mock.patch.object(requests, "post", lost), pytest.raises(ConnectionError):
        code["send_what_waits"](database)
    assert kept(database) == [(None, None, None)]
    code["send_what_waits"](database)
    ((identifier, _, document),) = kept(database)
    assert (identifier, document) == (answers[0].json()["id"], answers[0].text)


def test_a_refused_line_item_stays_for_a_person_and_holds_up_no_other(
    code: dict[str, Any], database: sqlite3.Connection
) -> None:
    code["enter"](database, line_item(type="crak"))
    code["enter"](database, line_item())
    code["send_what_waits"](database)
    assert [found is None for found, _, _ in kept(database)] == [True, False]
    (refused,) = database.execute("SELECT refused FROM line_items WHERE procedure_id IS NULL").fetchone()
    assert json.loads(refused)["errors"][0]["pointer"] == "/damage/type"


def test_a_refused_line_item_is_not_sent_again_until_it_is_entered_anew(
    code: dict[str, Any], database: sqlite3.Connection
) -> None:
    wrong = line_item(type="crak")
    code["enter"](database, wrong)
    code["send_what_waits"](database)
    with mock.patch.object(requests, "post", side_effect=AssertionError("it was sent again")):
        code["send_what_waits"](database)
    code["enter"](database, wrong | {"damage": MINIMAL["damage"]})
    code["send_what_waits"](database)
    assert [found is None for found, _, _ in kept(database)] == [True, False]


def test_the_times_are_those_of_the_service() -> None:
    page = prose_of(PAGE)
    assert f"{LIFETIME.total_seconds() / 3600:.0f} hours" in page
    assert f"keeps it for {RETENTION.days} days" in page
    days = {int(each) for each in re.findall(r"(\d+) days", page)}
    assert days == {RETENTION.days, 35}, "longer than an event may be sent again"
