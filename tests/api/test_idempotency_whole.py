"""What is created and the answer for its key are kept together, so that a repetition finds it.

Otherwise a service that dies in between would issue a second procedure when it is asked again, as the shop
may have learned something meanwhile.
"""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import line_item, told
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from storage.faults import StoreUnavailable
from storage.idempotency import Asked, Begun, GivenAnswer, Idempotency
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import procedures


def failing(*_arguments: object, **_more: object) -> None:
    raise StoreUnavailable("the database went away")


def post(client: FlaskClient, body: Any, path: str = "/v1/procedures", key: str = "") -> TestResponse:
    return client.post(path, json=body, headers={"Idempotency-Key": key} if key else {})


def kept(app: Flask) -> int:
    with snapshot(app).store._engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(procedures)).scalar_one()


def test_a_procedure_that_is_kept_is_found_by_its_key(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Idempotency, "finish", failing)
    key, body = uuid4().hex, line_item()
    first = post(shop, body, key=key)
    again = post(shop, body, key=key)
    assert (first.status_code, again.status_code, again.data) == (201, 201, first.data)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert again.headers["Location"] == first.headers["Location"]


def test_line_items_of_a_batch_that_are_kept_are_found_by_their_keys(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Idempotency, "finish", failing)
    items = [{**line_item(f"R{n}"), "idempotency_key": uuid4().hex} for n in range(3)]
    first = post(shop, {"line_items": items}, "/v1/procedures/batch")
    alone = [post(shop, line_item(f"R{n}"), key=item["idempotency_key"]) for n, item in enumerate(items)]
    assert [each.headers.get("Idempotency-Replayed") for each in alone] == ["true"] * 3
    results: Any = first.json
    assert [each.json for each in alone] == results["results"]
    assert kept(service) == 3


def test_where_the_procedure_is_not_kept_neither_is_an_answer(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The transaction ends before its commit."""
    key, body = uuid4().hex, line_item()
    with monkeypatch.context() as broken:
        broken.setattr("storage.store.keep_answers", failing)
        told(post(shop, body, key=key), 503, "store-unavailable")
    assert kept(service) == 0
    again = post(shop, body, key=key)
    assert (again.status_code, "Idempotency-Replayed" in again.headers) == (201, False)


def test_a_database_that_goes_away_after_the_commit_has_kept_both(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The caller can only be told to ask again; then it gets what was created."""
    keep = Store.keep_procedures

    def lost(*arguments: Any, **more: Any) -> Any:
        keep(*arguments, **more)
        failing()

    key, body = uuid4().hex, line_item()
    with monkeypatch.context() as broken:
        broken.setattr(Store, "keep_procedures", lost)
        told(post(shop, body, key=key), 503, "store-unavailable")
    again = post(shop, body, key=key)
    assert (again.status_code, again.headers.get("Idempotency-Replayed")) == (201, "true")
    assert kept(service) == 1


def test_what_was_answered_is_not_freed(service: Flask) -> None:
    keys = snapshot(service).store.idempotency
    (begun,) = keys.begin(LOCAL, [Asked("k", "a" * 64)])
    assert isinstance(begun, Begun)
    answer = GivenAnswer(201, {}, b"{}")
    keys.finish(LOCAL, [(begun, answer)])
    keys.free(LOCAL, [begun])
    assert keys.begin(LOCAL, [Asked("k", "a" * 64)]) == [answer]
