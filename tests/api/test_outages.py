"""What is answered where the service can't work for a time: which kind it is, and when to ask again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import WornOut, issue, line_item, told
from sqlalchemy import event
from werkzeug.test import TestResponse


def later(response: TestResponse, status: int, slug: str) -> Any:
    """A problem of this kind that says when to ask again."""
    assert int(response.headers["Retry-After"]) > 0
    return told(response, status, slug)


def settle(app: Flask, pragma: str) -> None:
    """Let this pragma hold for every connection to the database from now on."""
    store = snapshot(app).store
    store.close()
    event.listen(store._engine, "connect", lambda connection, _record: connection.execute(f"PRAGMA {pragma}"))


def test_a_database_that_takes_no_changes_is_named_so_and_what_was_issued_is_read(
    service: Flask, shop: FlaskClient, caplog: pytest.LogCaptureFixture, tmp_path: Path
) -> None:
    document = issue(shop)
    settle(service, "query_only = ON")
    headers = {"Idempotency-Key": "k"}
    for response in (
        shop.post("/v1/procedures", json=line_item("R2")),
        shop.post("/v1/procedures", json=line_item("R2"), headers=headers),
        shop.post(
            f"/v1/procedures/{document['id']}/actuals", json={"actuals": [{"stage": "wash", "work_min": 4}]}
        ),
    ):
        later(response, 507, "store-not-writable")
        assert str(tmp_path) not in response.text
    results: Any = shop.post("/v1/procedures/batch", json={"line_items": [line_item("R2")]}).json
    assert [each["type"] for each in results["results"]] == ["/problems/store-not-writable"]
    assert f"{tmp_path}/store.sqlite3 takes no changes: attempt to write a readonly database" in caplog.text
    assert shop.get(f"/v1/procedures/{document['id']}").json == document
    assert shop.get("/readyz").status_code == 200

    settle(service, "query_only = OFF")
    assert shop.post("/v1/procedures", json=line_item("R2"), headers=headers).status_code == 201


def test_a_worn_out_engine_is_told_to_whoever_asks_whether_the_service_is_ready(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    document = issue(shop)
    monkeypatch.setattr(snapshot(service).decider, "engine", WornOut())
    later(shop.get("/readyz"), 503, "engine-worn-out")
    later(shop.post("/v1/procedures", json=line_item(material="ABS")), 503, "engine-worn-out")
    assert shop.get(f"/v1/procedures/{document['id']}").json == document
    assert shop.get("/livez").status_code == 200
    assert "ran out of memory" in caplog.text


def test_memory_that_runs_out_in_the_midst_of_a_decision_is_told_alike(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = snapshot(service).decider.engine
    host = getattr(engine, "_host", None)
    if host is None:
        pytest.skip("needs durable-rules")

    def running_out(*_arguments: object) -> None:
        raise MemoryError

    monkeypatch.setattr(host, "assert_fact", running_out)
    later(shop.post("/v1/procedures", json=line_item()), 503, "engine-worn-out")
    later(shop.get("/readyz"), 503, "engine-worn-out")


def test_an_engine_that_is_closed_for_another_reason_is_a_failure(service: Flask, shop: FlaskClient) -> None:
    snapshot(service).decider.engine.close()
    if snapshot(service).decider.engine.name == "reference":
        pytest.skip("needs durable-rules")
    told(shop.post("/v1/procedures", json=line_item()), 500, "internal-error")
