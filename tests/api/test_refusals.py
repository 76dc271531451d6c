from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from schemas.examples import FULL

LEFT_OUT = object()


def changed(pointer: str, value: object) -> dict[str, Any]:
    """The full line item with another value, or without one, at a place."""
    body = deepcopy(FULL)
    *parents, last = pointer.split("/")[1:]
    found = body
    for token in parents:
        found = found.setdefault(token, {})
    if value is LEFT_OUT:
        del found[last]
    else:
        found[last] = value
    return body


def problem(response: TestResponse, status: int, slug: str) -> dict[str, Any]:
    assert (response.status_code, response.mimetype) == (status, "application/problem+json"), response.text
    document: dict[str, Any] = json.loads(response.text)
    assert document["type"] == f"/problems/{slug}"
    assert document["status"] == status
    assert response.headers["Cache-Control"] == "no-store"
    assert "Traceback" not in response.text
    return document


@pytest.mark.parametrize(
    ("pointer", "value", "slug"),
    [
        ("/line_item", LEFT_OUT, "line-item-refused"),
        ("/line_item", None, "line-item-refused"),
        ("/line_item", [], "line-item-refused"),
        ("/line_item/reference", LEFT_OUT, "line-item-refused"),
        ("/line_item/number", 3, "line-item-refused"),
        ("/part", LEFT_OUT, "line-item-refused"),
        ("/part/material", LEFT_OUT, "line-item-refused"),
        ("/part/material", 7, "line-item-refused"),
        ("/part/material", "", "line-item-refused"),
        ("/part/material", "polyproplene", "material-unknown"),
        ("/part/material", ">PP+<", "material-unknown"),
        ("/part/material", "\N{AUTOMOBILE}", "material-unknown"),
        ("/part/condition", LEFT_OUT, "facts-refused"),
        ("/part/condition", None, "facts-refused"),
        ("/part/condition", "refinshed", "facts-refused"),
        ("/part/condition", "not_supplied", "facts-refused"),
        ("/part/supplied_as", "primed", "facts-refused"),
        ("/part/area_m2", 0, "facts-refused"),
        ("/part/area_m2", 1e300, "facts-refused"),
        ("/part/area_m2", "1.1", "line-item-refused"),
        ("/part/colour", "red", "facts-refused"),
        ("/part/features", "radar_zone", "line-item-refused"),
        ("/damage/type", LEFT_OUT, "facts-refused"),
        ("/damage/type", "crak", "facts-refused"),
        ("/damage/length_mm", LEFT_OUT, "facts-refused"),
        ("/damage/length_mm", "80", "line-item-refused"),
        ("/damage/length_mm", True, "line-item-refused"),
        ("/damage/length_mm", -1, "facts-refused"),
        ("/damage/lenght_mm", 80, "facts-refused"),
        ("/damage/through", 1, "line-item-refused"),
        ("/damage/count", 1.5, "line-item-refused"),
        ("/damage/count", 0, "facts-refused"),
        ("/finish/topcoat", "matt", "facts-refused"),
        ("/place/air_temperature_c", 300, "facts-refused"),
        ("/place/forced_dry", False, "line-item-refused"),
        ("/jurisdiction", "US Federal", "line-item-refused"),
        ("/jurisdiction", "atlantis", "facts-refused"),
        ("/start_at", "2027-03-02T08:15:00", "line-item-refused"),
        ("/start_at", "9999-12-31T23:59:59Z", "line-item-refused"),
        ("/rates/currency", "dollars", "line-item-refused"),
        ("/rates/labour_per_hour", LEFT_OUT, "line-item-refused"),
        ("/rates/labour_per_hour/body", 62, "line-item-refused"),
        ("/rates/labour_per_hour/boddy", "62.00", "facts-refused"),
        ("/rates/tax", "0.07", "line-item-refused"),
        ("/colour", "red", "line-item-refused"),
    ],
)
def test_every_kind_of_bad_member_is_refused_at_its_place(
    client: FlaskClient, pointer: str, value: object, slug: str
) -> None:
    body = changed(pointer, value)
    told = problem(client.post("/v1/procedures", json=body), 422, slug)
    errors = {error["pointer"]: error for error in told["errors"]}
    assert errors.keys() == {pointer}
    assert errors[pointer]["detail"]
    if isinstance(value, (str, int, float)):
        assert errors[pointer]["value"] == value


def errors_of(client: FlaskClient, body: dict[str, Any]) -> dict[str, Any]:
    response = client.post("/v1/procedures", json=body)
    assert response.status_code == 422
    return {error["pointer"]: error for error in json.loads(response.text)["errors"]}


def test_a_missing_fact_tells_what_is_accepted_and_what_depends_on_it(client: FlaskClient) -> None:
    error = errors_of(client, changed("/damage/type", None))["/damage/type"]
    assert "crack" in error["accepted"]
    assert "rules depend on it" in error["detail"]
    assert "value" not in error


def test_a_wrong_value_proposes_the_nearest_right_one(client: FlaskClient) -> None:
    assert (
        "did you mean 'crack'?"
        in errors_of(client, changed("/damage/type", "crak"))["/damage/type"]["detail"]
    )
    unknown = errors_of(client, changed("/damage/lenght_mm", 80))["/damage/lenght_mm"]
    assert "did you mean 'length_mm'?" in unknown["detail"]
    assert "length_mm" in unknown["accepted"]


def test_an_unknown_feature_names_its_position(client: FlaskClient) -> None:
    error = errors_of(client, changed("/part/features", ["radar_zone", "radar_zon"]))["/part/features/1"]
    assert error["value"] == "radar_zon"
    assert "radar_zone" in error["accepted"]


def test_an_unknown_material_gets_suggestions(client: FlaskClient) -> None:
    error = errors_of(client, changed("/part/material", "polypropylen"))["/part/material"]
    assert error["value"] == "polypropylen"
    assert any(suggested.startswith("PP") for suggested in error["accepted"])


def test_every_fault_of_one_kind_is_told_at_once(client: FlaskClient) -> None:
    body = changed("/damage/type", "crak")
    body["finish"]["topcoat"] = "matt"
    body["place"]["wind"] = 3
    assert errors_of(client, body).keys() == {"/damage/type", "/finish/topcoat", "/place/wind"}


def test_a_body_of_nothing_but_faults_is_told_in_bounds(client: FlaskClient) -> None:
    body = {f"member_{number}": number for number in range(5000)}
    assert len(errors_of(client, body)) == 50


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"", "the body is empty"),
        (b"{", "line 1"),
        (b'{"part": {}, "part": {}}', "given twice"),
        (b'{"damage": {"length_mm": NaN}}', "NaN"),
        (b'{"damage": {"length_mm": 1e999}}', "too large"),
        (b'{"damage": {"length_mm": ' + b"9" * 5000 + b"}}", "too many digits"),
        (b'{"part": {"name": "\\ud800"}}', "surrogate"),
        (b'{"part": {"name": "\\u0000"}}', "NUL"),
        (b"\xff\xfe", "UTF-8"),
        (b"[" * 20_000, "nested"),
    ],
)
def test_json_that_cannot_be_read_in_one_way_is_refused(client: FlaskClient, body: bytes, told: str) -> None:
    response = client.post("/v1/procedures", data=body, content_type="application/json")
    assert told in problem(response, 400, "malformed-json")["detail"]


@pytest.mark.parametrize("body", [b"null", b"[]", b'"x"', b"3", b"true"])
def test_a_body_that_is_no_object_is_refused(client: FlaskClient, body: bytes) -> None:
    response = client.post("/v1/procedures", data=body, content_type="application/json")
    (error,) = problem(response, 422, "line-item-refused")["errors"]
    assert (error["pointer"], error["detail"]) == ("", "must be an object")


@pytest.mark.parametrize(
    "content_type", [None, "text/plain", "application/x-www-form-urlencoded", "text/json"]
)
def test_a_body_that_is_not_sent_as_json_is_refused(client: FlaskClient, content_type: str | None) -> None:
    response = client.post("/v1/procedures", data=json.dumps(FULL), content_type=content_type)
    problem(response, 415, "media-type-unsupported")
    assert response.headers["Accept"] == "application/json"


def test_json_with_a_charset_is_read(client: FlaskClient) -> None:
    content_type = "application/json; charset=utf-8"
    assert client.post("/v1/procedures", data=json.dumps(FULL), content_type=content_type).status_code == 201


def test_a_body_beyond_the_bound_is_refused(tmp_path: Path) -> None:
    app = serving(tmp_path / "store.sqlite3", max_body_bytes=100)
    problem(app.test_client().post("/v1/procedures", json=FULL), 413, "body-too-large")
    snapshot(app).store.close()


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("", "line_item"),
        ("line_item=", "line_item"),
        ("line_item=x&line_item=y", "line_item"),
        ("line_item=x&page=2", "page"),
        ("line_item=x&limit=0", "limit"),
        ("line_item=x&limit=101", "limit"),
        ("line_item=x&limit=1_0", "limit"),
        ("line_item=x&limit=%D9%A5", "limit"),
        ("line_item=x&cursor=abc", "cursor"),
        ("line_item=x&cursor=%00", "cursor"),
    ],
)
def test_a_bad_query_parameter_is_named(client: FlaskClient, query: str, parameter: str) -> None:
    document = problem(client.get(f"/v1/procedures?{query}"), 422, "query-refused")
    assert [error["parameter"] for error in document["errors"]] == [parameter]


def test_no_address_ignores_a_query_parameter(app: Flask, client: FlaskClient) -> None:
    rules = [rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    assert len(rules) > 10
    for rule in rules:
        _, path = rule.build(dict.fromkeys(rule.arguments, "x")) or ("", "")
        problem(client.get(f"{path}?surprise=1"), 422, "query-refused")
    problem(client.post("/v1/procedures?dryrun=true", json=FULL), 422, "query-refused")


@pytest.mark.parametrize("path", ["/problems/nothing", "/docs/x.js"])
def test_a_page_that_is_not_there_is_told(client: FlaskClient, path: str) -> None:
    problem(client.get(path), 404, "not-found")


@pytest.mark.parametrize("path", ["/v1", "/v1/procedures/", "/v1/nothing"])
def test_an_address_without_anything_is_told(client: FlaskClient, path: str) -> None:
    told = problem(client.get(path), 404, "not-found")["detail"]
    assert "/openapi.json" in told
    assert ("slash at its end" in told) is path.endswith("/")


def test_a_method_that_is_not_allowed_names_those_that_are(client: FlaskClient) -> None:
    response = client.delete("/v1/procedures")
    problem(response, 405, "method-not-allowed")
    assert {"GET", "POST"} <= set(response.allow)
