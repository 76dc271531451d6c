from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient

from api.snapshot import current, use
from planning.order import StageCircle
from rules.decision import PackFault
from schemas.examples import MINIMAL
from storage.faults import StoreUnavailable


class FailingDecider:
    """Stands in for a decider, or a store, of which every use fails."""

    def __init__(self, failure: Exception) -> None:
        self.failure = failure

    def __getattr__(self, name: str) -> Any:
        raise self.failure


@pytest.fixture
def own_app(tmp_path: Path) -> Any:
    app = serving(tmp_path / "store.sqlite3")
    store = snapshot(app).store
    yield app
    store.close()


def deciding(app: Flask, failure: Exception) -> FlaskClient:
    use(app, replace(snapshot(app), decider=FailingDecider(failure)))  # type: ignore[arg-type]
    return app.test_client()


def storing(app: Flask, failure: Exception) -> FlaskClient:
    use(app, replace(snapshot(app), store=FailingDecider(failure)))  # type: ignore[arg-type]
    return app.test_client()


@pytest.mark.parametrize(
    ("failure", "rules"),
    [
        (PackFault("rules disagree on the disposition", ("rule-a", "rule-b")), ["rule-a", "rule-b"]),
        (StageCircle(("prime", "paint", "prime")), []),
    ],
)
def test_a_fault_of_the_pack_names_pack_and_rules_and_is_logged(
    own_app: Flask, caplog: pytest.LogCaptureFixture, failure: Exception, rules: list[str]
) -> None:
    pack = snapshot(own_app).pack
    response = deciding(own_app, failure).post("/v1/procedures", json=MINIMAL)
    assert response.status_code == 500
    assert response.json is not None
    assert response.json["type"] == "/problems/pack-fault"
    assert response.json["pack"] == {"name": pack.name, "version": pack.version, "digest": pack.digest}
    assert response.json["rules"] == rules
    assert str(failure) in response.json["detail"]
    assert pack.digest in caplog.text


def test_a_failure_tells_the_log_everything_and_the_caller_its_name(
    own_app: Flask, caplog: pytest.LogCaptureFixture
) -> None:
    secret = "the inside of the service"
    response = deciding(own_app, RuntimeError(secret)).post("/v1/procedures", json=MINIMAL)
    assert response.status_code == 500
    assert response.json is not None
    assert response.json["type"] == "/problems/internal-error"
    assert secret not in response.text
    assert secret in caplog.text
    assert response.json["instance"] in caplog.text


def test_a_store_that_does_not_answer_is_503_with_a_time_to_try_again(
    own_app: Flask, caplog: pytest.LogCaptureFixture
) -> None:
    client = storing(own_app, StoreUnavailable("cannot use the database sqlite:///secret"))
    for response in (client.get("/readyz"), client.post("/v1/procedures", json=MINIMAL)):
        assert response.status_code == 503
        assert response.json is not None
        assert response.json["type"] == "/problems/store-unavailable"
        assert int(response.headers["Retry-After"]) > 0
        assert "secret" not in response.text
    assert "sqlite:///secret" in caplog.text
    assert client.get("/livez").status_code == 200


def test_a_store_that_fails_while_it_is_read_is_told_before_an_export_begins(
    own_app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(_shop: str) -> Iterator[Any]:
        raise StoreUnavailable("cannot use the database")
        yield

    monkeypatch.setattr(snapshot(own_app).store.actuals, "of_shop", failing)
    for accepted in ("text/csv", "application/jsonl"):
        response = own_app.test_client().get("/v1/actuals", headers={"Accept": accepted})
        assert (response.status_code, response.mimetype) == (503, "application/problem+json")


def test_a_request_keeps_the_snapshot_it_began_with(own_app: Flask) -> None:
    first = snapshot(own_app)
    with own_app.test_request_context("/"):
        assert current() is first
        use(own_app, replace(first, describe=lambda _pack: b"{}"))
        assert current() is first
    with own_app.test_request_context("/"):
        assert current().openapi == b"{}"


def test_nothing_is_logged_for_a_refusal(client: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING):
        assert client.post("/v1/procedures", json={}).status_code == 422
    assert not caplog.records
