"""What holds for every call: request ids, the catalogue of APIs, other origins, methods, dry runs."""

from __future__ import annotations

import logging
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient

from schemas.examples import FULL, MINIMAL
from schemas.procedure.document import identifier_of

PATHS = ("/", "/livez", "/v1/stages", "/v1/procedures/none", "/docs", "/nothing", "/problems")


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize(
    "sent", ["7", "RO-20417-3", "a" * 100, "00-4bf92f3577b34da6a3ce929d0e0e4736-01", "x:y/z=1"]
)
def test_a_safe_request_id_comes_back(client: FlaskClient, path: str, sent: str) -> None:
    assert client.get(path, headers={"X-Request-Id": sent}).headers["X-Request-Id"] == sent


@pytest.mark.parametrize(
    "sent", [None, "", "a" * 101, "a b", "a,b", "<script>", "ä", "-x", "x\ty", '"x"', "x;y=1"]
)
def test_an_unsafe_request_id_is_replaced_by_a_new_one(client: FlaskClient, sent: str | None) -> None:
    headers = {} if sent is None else {"X-Request-Id": sent}
    first, second = (client.get("/livez", headers=headers).headers["X-Request-Id"] for _ in range(2))
    assert re.fullmatch(r"[0-9a-f]{32}", first)
    assert first != second


class Failing:
    """Stands in for a decider of which every use fails."""

    def __getattr__(self, name: str) -> Any:
        raise RuntimeError("planted")


def test_the_log_speaks_of_a_failure_by_the_request_id(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    from api.snapshot import use

    app = serving(tmp_path / "store.sqlite3")
    use(app, replace(snapshot(app), decider=Failing()))  # type: ignore[arg-type]
    with caplog.at_level(logging.ERROR):
        response = app.test_client().post("/v1/procedures", json=MINIMAL, headers={"X-Request-Id": "shop-7"})
    snapshot(app).store.close()
    assert (response.status_code, response.headers["X-Request-Id"]) == (500, "shop-7")
    assert "request shop-7: urn:uuid:" in caplog.text


def test_the_catalogue_of_apis_leads_to_description_pages_and_state(client: FlaskClient) -> None:
    response = client.get("/.well-known/api-catalog")
    assert (response.status_code, response.mimetype) == (200, "application/linkset+json")
    assert response.mimetype_params == {"profile": "https://www.rfc-editor.org/info/rfc9727"}
    document: Any = response.json
    contexts = {context["anchor"]: context for context in document["linkset"]}
    (api,) = contexts["/.well-known/api-catalog"]["item"]
    described = contexts[api["href"]]
    for relation in ("service-desc", "service-doc", "status"):
        for target in described[relation]:
            found = client.get(target["href"])
            assert (found.status_code, found.mimetype) == (200, target["type"])
    head = client.head("/.well-known/api-catalog")
    assert head.headers["Link"] == '</.well-known/api-catalog>; rel="api-catalog"'


ASKING = {"Origin": "https://other.example", "Access-Control-Request-Method": "POST"}


@pytest.mark.parametrize("method", ["GET", "POST", "OPTIONS", "PUT", "HEAD", "DELETE"])
def test_no_other_origin_is_ever_let_in(app: Flask, client: FlaskClient, method: str) -> None:
    for rule in app.url_map.iter_rules():
        _, path = rule.build(dict.fromkeys(rule.arguments, "x")) or ("", "")
        answered = client.open(path, method=method, headers=ASKING)
        assert not [name for name, _ in answered.headers if name.lower().startswith("access-control-")]
    assert client.get("/livez", headers=ASKING).headers["Cross-Origin-Resource-Policy"] == "same-origin"


def methods_by_path(client: FlaskClient) -> dict[str, set[str]]:
    """The methods that the published document names, by path."""
    paths: Any = (client.get("/openapi.json").json or {})["paths"]
    return {
        path: {method.upper() for method in item if method != "parameters"} for path, item in paths.items()
    }


def test_options_and_405_allow_what_the_document_names(client: FlaskClient) -> None:
    for path, methods in methods_by_path(client).items():
        written = re.sub(r"\{\w+\}", "x", path)
        options, refused = client.options(written), client.patch(written)
        assert (options.status_code, refused.status_code) == (200, 405)
        expected = methods | {"OPTIONS"} | ({"HEAD"} if "GET" in methods else set())
        assert set(options.allow) == set(refused.allow) == expected, path


@pytest.mark.parametrize("body", [MINIMAL, FULL])
def test_a_dry_run_answers_like_the_real_thing_and_keeps_nothing(
    tmp_path: Path, body: dict[str, Any]
) -> None:
    app = serving(tmp_path / "store.sqlite3")
    client = app.test_client()
    tried = client.post("/v1/procedures?dry_run=true", json=body)
    document: Any = tried.json
    assert (tried.status_code, document["dry_run"]) == (200, True)
    assert "Location" not in tried.headers
    assert client.get(document["links"]["self"]).status_code == 404
    assert client.get("/v1/procedures?line_item=RO-20417-3").json == {"items": []}
    issued = client.post("/v1/procedures?dry_run=false", json=body)
    assert issued.status_code == 201
    assert document == {**(issued.json or {}), "dry_run": True}
    assert identifier_of(document) == document["id"]
    snapshot(app).store.close()


def test_a_dry_run_refuses_what_the_real_thing_refuses(client: FlaskClient) -> None:
    body = {**MINIMAL, "damage": {"type": "crak"}}
    tried, real = (client.post(f"/v1/procedures{query}", json=body) for query in ("?dry_run=true", ""))
    assert (tried.status_code, tried.json) == (real.status_code, real.json)


@pytest.mark.parametrize("coding", ["gzip", "br", "identity, gzip", "utf-8"])
@pytest.mark.parametrize("path", ["/v1/procedures", "/v1/identifications", "/v1/packs"])
def test_a_compressed_body_is_not_taken_for_a_plain_one(client: FlaskClient, path: str, coding: str) -> None:
    response = client.post(path, json=MINIMAL, headers={"Content-Encoding": coding})
    assert response.status_code == 415
    assert response.headers["Accept-Encoding"] == "identity"


@pytest.mark.parametrize("charset", ["utf-16", "latin-1", "unknown", "utf-7"])
@pytest.mark.parametrize("path", ["/v1/procedures", "/v1/packs"])
def test_a_body_in_another_charset_is_refused(client: FlaskClient, path: str, charset: str) -> None:
    response = client.post(path, data=b"{}", content_type=f"application/json; charset={charset}")
    assert response.status_code == 415
    assert charset in (response.json or {})["detail"]


@pytest.mark.parametrize(
    "path", ["/v1//stages", "/v1%2Fstages", "/v1/procedures%2F", "/docs/..%2f..%2fapi.py"]
)
def test_a_path_is_what_it_says(client: FlaskClient, path: str) -> None:
    response = client.get(path)
    assert response.status_code == 404
    assert "Location" not in response.headers


def test_the_name_of_an_unknown_member_is_told_in_bounds(client: FlaskClient) -> None:
    response = client.post("/v1/procedures", json={"x" * 200_000: 1})
    assert response.status_code == 422
    assert len(response.data) < 5000
