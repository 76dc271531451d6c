"""API4:2023 Unrestricted Resource Consumption (OWASP API Security Top 10, 2023): what a caller sends, asks
for and keeps busy has an end. Slow callers are in tests/endurance/test_slow_callers.py, expensive work on
rule packs in test_packs_proof.py and test_shop_packs_bounds.py, quotas of shops in test_limiting.py."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from checked_client import Json, serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, is_refused, key, keyed_service, store_of, with_key
from packs_at_hand import line_item, told
from small_pack import small_pack
from werkzeug.test import TestResponse

from api.limiting.failures import WINDOW_S
from api.openapi import openapi_document
from api.problems import MOST_ERRORS
from api.settings import Settings
from rules.loading import BASE_PACK, load_folder
from schemas.line_item.batch import MOST_ITEMS

ENOUGH = 5
"""Requests without a key that holds, for the tests of what happens after them."""


@pytest.fixture(scope="module")
def document() -> Json:
    return openapi_document(load_folder(BASE_PACK))


# What is sent.

LARGER = {"/v1/procedures/batch": Settings().max_batch_bytes, "/v1/packs": Settings().max_pack_bytes}
"""Bodies that may be larger than others."""


def test_every_body_has_an_end(shop: FlaskClient, document: Json) -> None:
    asked = 0
    for path, operations in document["paths"].items():
        for method in operations.keys() & {"post", "put"}:
            if "requestBody" not in operations[method]:
                continue
            limit = LARGER.get(path, Settings().max_body_bytes)
            body = b'{"padding": "' + b"x" * limit + b'"}'
            address, headers = re.sub(r"\{\w+\}", "x", path), {"If-Match": '"1"'}
            response = shop.open(
                address, method=method, data=body, content_type="application/json", headers=headers
            )
            told(response, 413, "body-too-large")
            asked += 1
    assert asked >= 6


def test_a_batch_has_so_many_line_items_and_no_more(shop: FlaskClient) -> None:
    response = shop.post("/v1/procedures/batch", json={"line_items": [{}] * (MOST_ITEMS + 1)})
    told(response, 422, "body-refused")


@pytest.mark.parametrize(
    "body",
    ["[" * 100_000, '{"a":' * 40_000, "9" * 100_000, '"' + "x" * 200_000 + '"', "{" + '"a":1,' * 40_000],
    ids=["arrays in arrays", "objects in objects", "digits", "characters", "members"],
)
def test_what_is_costly_to_read_is_refused_and_the_refusal_is_short(shop: FlaskClient, body: str) -> None:
    response = shop.post("/v1/procedures", data=body, content_type="application/json")
    assert response.status_code in (400, 422)
    assert len(response.data) < 2_000


def test_a_body_of_nothing_but_faults_is_answered_by_some_of_them(shop: FlaskClient) -> None:
    stages = [{"stage": f"s{number}", "work_min": "x"} for number in range(100)]
    document = shop.post("/v1/procedures", json=line_item()).json or {}
    response = shop.post(f"/v1/procedures/{document['id']}/actuals", json={"actuals": stages})
    errors = told(response, 422, "body-refused")["errors"]
    assert len(errors) == MOST_ERRORS
    results = shop.post("/v1/procedures/batch", json={"line_items": [{"x": 1}] * MOST_ITEMS})
    assert results.status_code == 200
    assert len(results.data) < 1_000_000


# What is answered.

OTHERWISE = {
    "/v1/estimates": "the stages of the rule pack",
    "/v1/webhooks": "so many webhooks as a shop may have",
    "/v1/packs/active": "decisions of the shop that are still to come, each one taken by a person",
    "/v1/packs/{digest}": "the findings in one pack of bounded size",
    "/v1/packs/{digest}/files": "the layers of one pack of bounded size",
    "/v1/packs/{digest}/proof": "what the proof of one pack tells, which shows a few of each kind",
    "/v1/webhooks/{webhook_id}": "the kinds of events",
    "/v1/webhooks/{webhook_id}/deliveries/{delivery_id}": "the attempts there are at most",
    "/v1/procedures/{procedure_id}": "one procedure",
    "/v1/procedures/{procedure_id}/timeline": "one procedure",
    "/v1/procedures/{procedure_id}/explanation": "the rules of the rule pack",
    "/l/procedure/{token}": "one procedure",
    "/.well-known/api-catalog": "what the service itself says of itself",
    **dict.fromkeys(
        ("/v1/vocabulary", "/v1/substrates", "/v1/stages", "/v1/cautions", "/v1/jurisdictions"),
        "what the rule pack declares",
    ),
}
"""Reading requests whose answers hold lists without pages, and what bounds them."""

LONGEST_PAGE = 500


def reading(document: Json) -> Iterator[tuple[str, Json, bool]]:
    """Path, `limit` where the operation takes one, and whether the answer holds a list at its top."""
    schemas = document["components"]["schemas"]
    for path, operations in document["paths"].items():
        operation = operations.get("get", {})
        limit = next((each for each in operation.get("parameters", ()) if each.get("name") == "limit"), {})
        for content in operation.get("responses", {}).get("200", {}).get("content", {}).values():
            name = content.get("schema", {}).get("$ref", "").rpartition("/")[2]
            members = schemas.get(name, {}).get("properties", {}).values()
            yield path, limit.get("schema", {}), any("array" in member.get("type", "") for member in members)


def test_every_list_has_pages_of_a_bounded_length_or_another_bound(document: Json) -> None:
    for path, limit, has_list in reading(document):
        if limit:
            assert limit["minimum"] == 1, path
            assert limit["maximum"] <= LONGEST_PAGE, path
        elif has_list:
            assert path in OTHERWISE, f"{path} has neither pages nor another bound"


def test_what_is_said_to_be_bounded_otherwise_is_there_and_has_no_pages(document: Json) -> None:
    assert OTHERWISE.keys() <= {path for path, limit, has_list in reading(document) if has_list and not limit}


# Who has no key that holds.


@pytest.fixture
def keyed(tmp_path: Path) -> Iterator[Flask]:
    app = keyed_service(tmp_path, key_failures=ENOUGH)
    yield app
    store_of(app).close()


def ask(app: Flask, address: str = "192.0.2.7", authorization: str | None = None) -> TestResponse:
    headers = {} if authorization is None else {"Authorization": authorization}
    return app.test_client().get(
        "/v1/substrates", headers=headers, environ_overrides={"REMOTE_ADDR": address}
    )


@pytest.mark.parametrize("authorization", [None, "Bearer x", "Basic eDp4"])
def test_too_many_requests_without_a_key_are_told_to_wait(keyed: Flask, authorization: str | None) -> None:
    for _ in range(ENOUGH):
        assert is_refused(ask(keyed, authorization=authorization))
    for _ in range(3):
        response = ask(keyed, authorization=authorization)
        told(response, 429, "keys-refused")
        assert 0 < int(response.headers["Retry-After"]) <= WINDOW_S


def test_a_key_that_holds_is_never_locked_out(keyed: Flask) -> None:
    """Not by others behind the same proxy, and not by what its own caller sent before."""
    good, ended = key(keyed), key(keyed, expires_at=datetime.now(UTC) - timedelta(seconds=1))
    for _ in range(ENOUGH + 5):
        ask(keyed, authorization=f"Bearer {ended.text}")
    told(ask(keyed, authorization=f"Bearer {ended.text}"), 429, "keys-refused")
    for _ in range(2 * ENOUGH):
        assert ask(keyed, authorization=f"Bearer {good.text}").status_code == 200
    told(ask(keyed), 429, "keys-refused")


def test_a_key_without_the_scope_is_no_failure_of_this_kind(keyed: Flask) -> None:
    client = with_key(keyed, key(keyed, NORTH, "rules"))
    for _ in range(ENOUGH + 2):
        told(client.post("/v1/procedures", json=line_item()), 403, "scope-missing")


def test_other_addresses_are_not_held_to_account_and_one_network_is_one_caller(keyed: Flask) -> None:
    for _ in range(ENOUGH):
        ask(keyed, "192.0.2.7")
    for host in range(ENOUGH):
        ask(keyed, f"2001:db8:1:2::{host}")
    refused = [ask(keyed, address).status_code for address in ("192.0.2.7", "2001:db8:1:2:ffff::1")]
    others = [ask(keyed, address).status_code for address in ("192.0.2.8", "2001:db8:1:3::1", "x")]
    assert (refused, others) == ([429, 429], [401, 401, 401])


def test_what_needs_no_key_is_served_to_who_has_none(keyed: Flask) -> None:
    for _ in range(ENOUGH + 1):
        ask(keyed)
    for path in ("/livez", "/readyz", "/docs", "/problems/keys-refused"):
        assert (
            keyed.test_client().get(path, environ_overrides={"REMOTE_ADDR": "192.0.2.7"}).status_code == 200
        )


def test_where_redis_does_not_answer_who_has_no_key_is_refused_as_ever(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    pytest.importorskip("redis", reason="needs redis (the extra `redis`)")
    app = serving(
        tmp_path / "store.sqlite3",
        pack_folder=small_pack(tmp_path / "pack"),
        without_keys=False,
        key_failures=1,
        rate_storage="redis://127.0.0.1:1/0",
    )
    with caplog.at_level(logging.ERROR):
        assert all(is_refused(ask(app)) for _ in range(5))
    assert caplog.text.count("are not counted") == 1  # it is not asked again at once
    snapshot(app).store.close()


def test_a_service_bounds_failures_unless_told_otherwise() -> None:
    assert Settings().key_failures > 0
