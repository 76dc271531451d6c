"""The log: one line a request, which tells what was asked and never what was sent."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from keys_at_hand import key, keyed_service, store_of, with_key
from packs_at_hand import line_item

from api.running.logs import FORMATS, formatter

SECRET = "zq7secret4xw"


class Written(logging.Handler):
    """Keeps what is logged, as it would be written."""

    def __init__(self, log_format: str) -> None:
        super().__init__(logging.DEBUG)
        self.setFormatter(formatter(log_format))
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(self.format(record))

    def requests(self) -> list[dict[str, Any]]:
        found = [json.loads(line) for line in self.lines]
        return [line for line in found if line["name"] == "stagewright.requests"]


@pytest.fixture(params=FORMATS)
def written(request: pytest.FixtureRequest, caplog: pytest.LogCaptureFixture) -> Iterator[Written]:
    yield from writing(request.param, caplog)


@pytest.fixture
def written_json(caplog: pytest.LogCaptureFixture) -> Iterator[Written]:
    yield from writing("json", caplog)


def writing(log_format: str, caplog: pytest.LogCaptureFixture) -> Iterator[Written]:
    handler, root = Written(log_format), logging.getLogger()
    root.addHandler(handler)
    with caplog.at_level(logging.DEBUG):
        yield handler
    root.removeHandler(handler)


def test_a_request_leaves_one_line(shared_keyed: Flask, written_json: Written) -> None:
    made = key(shared_keyed)
    answered = with_key(shared_keyed, made).post(
        "/v1/procedures", json=line_item(), headers={"X-Request-Id": "shop-7"}
    )
    (line,) = written_json.requests()
    took = line.pop("duration_ms")
    assert took > 0
    assert line.pop("timestamp")
    assert line == {
        "level": "INFO",
        "name": "stagewright.requests",
        "message": f"POST /v1/procedures 201 in {took:.1f} ms, request shop-7",
        "method": "POST",
        "route": "/v1/procedures",
        "status": 201,
        "request_id": "shop-7",
        "shop": "north",
        "key": made.prefix,
    }
    assert answered.status_code == 201


@pytest.mark.parametrize(
    ("method", "path", "expected"),
    [
        ("GET", "/livez", ("GET", "/livez", 200)),
        ("GET", "/v1/procedures/pr-x", ("GET", "/v1/procedures/{procedure_id}", 401)),
        ("GET", "/nothing/of/the/kind", ("GET", "(none)", 404)),
        ("DELETE", "/livez", ("OTHER", "(none)", 405)),
        ("FETCHED", "/livez", ("OTHER", "(none)", 405)),
        ("GET", "/v1/stages/%2f", ("GET", "(none)", 404)),
    ],
)
def test_refused_requests_leave_one_too(
    shared_keyed: Flask, written_json: Written, method: str, path: str, expected: tuple[str, str, int]
) -> None:
    shared_keyed.test_client().open(path, method=method)
    (line,) = written_json.requests()
    assert (line["method"], line["route"], line["status"]) == expected
    assert (line["shop"], line["key"]) == (None, None)


def test_a_failure_leaves_its_line_and_its_reason(tmp_path: Path, written_json: Written) -> None:
    app = keyed_service(tmp_path)
    app.add_url_rule("/failing", view_func=lambda: "does not say whom it serves", endpoint="failing")
    app.test_client().get("/failing")
    store_of(app).close()
    (line,) = written_json.requests()
    assert (line["route"], line["status"]) == ("/failing", 500)
    (told,) = [json.loads(each) for each in written_json.lines if "exc_info" in each]
    assert told["level"] == "ERROR"
    assert "LookupError" in told["exc_info"]


def test_what_was_sent_is_never_written(shared_keyed: Flask, written: Written) -> None:
    """Keys, bodies, queries, paths and other headers, of requests that are served and of others."""
    made = key(shared_keyed)
    client = with_key(shared_keyed, made)
    body = line_item(SECRET)
    body["line_item"]["description"] = f"{SECRET} bumper"
    procedure = client.post("/v1/procedures", json=body).json
    assert procedure is not None
    assert procedure["line_item"]["reference"] == SECRET
    client.get(f"/v1/procedures?line_item={SECRET}")
    client.get(f"/v1/procedures?{SECRET}=1")
    client.get(f"/v1/procedures/{SECRET}")
    client.get(f"/{SECRET}")
    client.open("/livez", method=SECRET.upper())
    client.post("/v1/procedures", json={**body, SECRET: SECRET})
    client.post("/v1/procedures", data=f'{{"{SECRET}"', content_type="application/json")
    client.post("/v1/procedures", data=SECRET, content_type=f"text/{SECRET}")
    client.get("/livez", headers={"X-Request-Id": f"{SECRET} with a space", "User-Agent": SECRET})
    for sent in (SECRET, f"Bearer {SECRET}", f"Basic {SECRET}", f"Bearer sw_{made.prefix}_{SECRET}"):
        shared_keyed.test_client().get("/v1/stages", headers={"Authorization": sent})
    everything = "\n".join(written.lines).lower()
    assert everything.count("stagewright.requests") == 14
    assert SECRET not in everything
    assert made.text.lower() not in everything
    assert made.text.rpartition("_")[2].lower() not in everything


def test_what_a_database_refuses_is_logged_without_its_values(tmp_path: Path) -> None:
    """The driver's message would quote the values of the statement, which may be anybody's."""
    import sqlalchemy

    from storage.store import open_store

    store = open_store(f"sqlite:///{tmp_path / 'store.sqlite3'}")
    store.shops.create("east", "The shop in the east", "command line")
    with (
        pytest.raises(sqlalchemy.exc.IntegrityError) as refused,
        store._engine.begin() as connection,
    ):
        connection.execute(
            sqlalchemy.text("INSERT INTO shops (id, name, created_at) VALUES (:id, :name, 0)"),
            {"id": "east", "name": SECRET},
        )
    store.close()
    assert SECRET not in str(refused.value)
