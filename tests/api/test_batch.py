"""Batches: each line item is answered as if it were sent alone."""

from __future__ import annotations

import json
from typing import Any
from uuid import uuid4

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import line_item, told
from werkzeug.test import TestResponse

from schemas.examples import FULL, MINIMAL
from schemas.line_item.batch import MOST_ITEMS
from storage.faults import DifferentDocument, StoreUnavailable
from storage.store import Store

KEPT_FIRST = 25


@pytest.fixture
def small(service: Flask) -> FlaskClient:
    return service.test_client()


def batch(client: FlaskClient, *items: Any, query: str = "", **headers: str) -> TestResponse:
    response = client.post(f"/v1/procedures/batch{query}", json={"line_items": list(items)}, headers=headers)
    assert response.status_code == 200, response.text
    return response


def results(response: TestResponse) -> list[Any]:
    document: Any = response.json
    return list(document["results"])


BAD = (
    {"x": 1},
    7,
    None,
    [],
    line_item(kind="crak"),
    line_item(material="unobtainium"),
    {**line_item(), "line_item": {"reference": ""}},
    {**line_item(), "damage": {"type": 3}},
    {**line_item(), "more": 1},
)


def test_every_result_is_what_the_line_item_gets_alone(client: FlaskClient) -> None:
    items = [MINIMAL, *BAD, FULL, {**MINIMAL, "damage": {"type": "dent"}}]
    alone = [
        client.post("/v1/procedures", data=json.dumps(item), content_type="application/json")
        for item in items
    ]
    together = results(batch(client, *items))
    for index, (response, result) in enumerate(zip(alone, together, strict=True)):
        problem = {"index": index} if response.status_code >= 400 else {}
        assert result == {**(response.json or {}), **problem}


@pytest.mark.filterwarnings("default")
def test_refusals_alone_leave_what_comes_after_them_as_it_is(small: FlaskClient) -> None:
    refused = [{"x": number} for number in range(KEPT_FIRST)]
    *others, last = results(batch(small, *refused, line_item()))
    assert [each["type"] for each in others] == ["/problems/line-item-refused"] * KEPT_FIRST
    assert "disposition" in last, last


def test_what_was_issued_is_kept(small: FlaskClient) -> None:
    given = results(batch(small, line_item("R1"), BAD[0], line_item("R2", kind="scratch")))
    for result in (given[0], given[2]):
        assert small.get(result["links"]["self"]).json == result


def test_a_dry_run_of_a_batch_keeps_nothing(small: FlaskClient) -> None:
    items = [{**line_item("R1"), "idempotency_key": "k"}, BAD[0]]
    tried, refused = results(batch(small, *items, query="?dry_run=true"))
    assert (tried["dry_run"], refused["status"]) == (True, 422)
    assert small.get(tried["links"]["self"]).status_code == 404
    issued, _ = results(batch(small, *items))
    assert {**issued, "dry_run": True} == tried


def test_keys_of_line_items_hold_alone_and_in_batches(small: FlaskClient) -> None:
    key, body = uuid4().hex, line_item("R1")
    alone = small.post("/v1/procedures", json=body, headers={"Idempotency-Key": key})
    same, other, bad = results(
        batch(
            small,
            {**body, "idempotency_key": key},
            {**line_item("R2"), "idempotency_key": key},
            {**body, "idempotency_key": "é"},
        )
    )
    assert same == alone.json
    assert (other["type"], other["index"]) == ("/problems/idempotency-key-reused", 1)
    assert (bad["type"], bad["status"]) == ("/problems/idempotency-key-refused", 400)
    assert bad["errors"][0]["pointer"] == "/idempotency_key"


def test_a_key_twice_in_a_batch_is_one_request(small: FlaskClient) -> None:
    key = uuid4().hex
    items = [{**line_item("R1"), "idempotency_key": key}] * 2 + [{**line_item("R2"), "idempotency_key": key}]
    first, second = results(batch(small, *items)), results(batch(small, *items))
    assert first == second
    assert first[0] == first[1]
    assert first[2]["type"] == "/problems/idempotency-key-reused"


def test_a_batch_as_a_whole_can_have_a_key(small: FlaskClient) -> None:
    first, second = (batch(small, line_item(), BAD[0], **{"Idempotency-Key": '"whole"'}) for _ in range(2))
    assert second.headers["Idempotency-Replayed"] == "true"
    assert first.data == second.data


@pytest.mark.parametrize(
    "body", [{}, [], {"line_items": []}, {"line_items": {}}, {"line_items": None}, {"line_items": [], "x": 1}]
)
def test_a_body_that_is_no_batch_is_refused(small: FlaskClient, body: Any) -> None:
    told(small.post("/v1/procedures/batch", json=body), 422, "body-refused")


def test_a_batch_has_bounds(small: FlaskClient, service: Flask) -> None:
    assert len(results(batch(small, *[7] * MOST_ITEMS))) == MOST_ITEMS
    body = {"line_items": [7] * (MOST_ITEMS + 1)}
    told(small.post("/v1/procedures/batch", json=body), 422, "body-refused")
    large = {"line_items": ["x" * 300_000]}
    assert small.post("/v1/procedures/batch", json=large).status_code == 200
    assert small.post("/v1/procedures", json=large).status_code == 413
    for headers in ({}, {"Idempotency-Key": "large"}):
        huge = small.post("/v1/procedures/batch", json={"line_items": ["x" * 4_194_304]}, headers=headers)
        told(huge, 413, "body-too-large")


def test_the_address_of_batches_is_no_procedure(small: FlaskClient) -> None:
    assert small.get("/v1/procedures/batch").status_code == 405
    assert small.get("/v1/procedures/batches").status_code == 404


def test_a_database_that_fails_midway_is_told_item_by_item(
    small: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep, calls = Store.keep_procedures, []

    def failing(store: Store, shop: str, issues: Any, answers: Any) -> Any:
        calls.append(len(issues))
        if len(calls) == 2:
            raise StoreUnavailable("planted")
        return keep(store, shop, issues, answers)

    items = [{**line_item(f"R{n}"), "idempotency_key": f"k{n}"} for n in range(2 * KEPT_FIRST + 10)]
    monkeypatch.setattr(Store, "keep_procedures", failing)
    given = results(batch(small, *items, **{"Idempotency-Key": "whole"}))
    monkeypatch.undo()
    assert calls == [KEPT_FIRST, KEPT_FIRST]  # what is left is not tried
    for number, result in enumerate(given):
        found = small.get(f"/v1/procedures?line_item=R{number}").json or {}
        if number < KEPT_FIRST:
            assert found["items"] == [result]
        else:
            assert (found["items"], result["status"], result["index"]) == ([], 503, number)
    again = results(batch(small, *items, **{"Idempotency-Key": "whole"}))
    assert again[:KEPT_FIRST] == given[:KEPT_FIRST]
    assert all("id" in result for result in again)


def test_one_that_cannot_be_kept_spoils_no_other(small: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    keep = Store.keep_procedures

    def failing(store: Store, shop: str, issues: Any, answers: Any) -> Any:
        if any(procedure.reference == "R1" for procedure, _ in issues):
            raise DifferentDocument("planted")
        return keep(store, shop, issues, answers)

    monkeypatch.setattr(Store, "keep_procedures", failing)
    given = results(batch(small, *[line_item(f"R{n}") for n in range(3)]))
    assert [result.get("status") for result in given] == [None, 500, None]
    assert given[1]["index"] == 1


def test_a_batch_is_decided_by_one_pack(tmp_path: Any) -> None:
    app = serving(tmp_path / "one.sqlite3")
    given = results(batch(app.test_client(), *[MINIMAL] * 3))
    assert given[0] == given[1] == given[2]
    snapshot(app).store.close()
