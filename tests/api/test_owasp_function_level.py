"""API5:2023 Broken Function Level Authorization (OWASP API Security Top 10, 2023): every route says what a
key must be for, and serves no other key."""

from __future__ import annotations

import re
from itertools import combinations
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import CHALLENGE, NORTH, caller, is_refused, keyed_service, store_of
from packs_at_hand import activate, etag, in_force, keep, line_item, told, version
from werkzeug.routing import Rule

from api.keys.scopes import ADMIN, LINE_ITEMS, OPEN, RULES, scope_of
from api.openapi import openapi_document
from storage.key_records import SCOPES
from storage.shops import LOCAL

EXPECTED = {
    OPEN: """
        GET /
        GET /livez
        GET /readyz
        GET /.well-known/api-catalog
        GET /openapi.json
        GET /docs
        GET /docs/start.js
        GET /docs/<name>
        GET /problems
        GET /problems/<slug>
        GET /l/procedure/<token>
        GET /l/timeline/<token>
    """,
    LINE_ITEMS: """
        POST /v1/procedures
        POST /v1/procedures/batch
        GET /v1/procedures
        GET /v1/procedures/<procedure_id>
        GET /v1/procedures/<procedure_id>/timeline
        GET /v1/procedures/<procedure_id>/explanation
        GET /v1/procedures/<procedure_id>/actuals
        POST /v1/procedures/<procedure_id>/actuals
        POST /v1/procedures/<procedure_id>/links
        GET /v1/estimates
        GET /v1/estimates/<stage>
        POST /v1/identifications
        GET /v1/vocabulary
        GET /v1/substrates
        GET /v1/stages
        GET /v1/cautions
        GET /v1/jurisdictions
    """,
    RULES: """
        POST /v1/packs
        GET /v1/packs
        GET /v1/packs/<digest>
        DELETE /v1/packs/<digest>
        POST /v1/packs/<digest>/renewal
        GET /v1/packs/<digest>/files
        GET /v1/packs/<digest>/impact
        GET /v1/packs/<digest>/proof
        POST /v1/packs/<digest>/proof
        GET /v1/packs/active
        PUT /v1/packs/active
        POST /v1/packs/active/rollback
    """,
    ADMIN: """
        GET /metrics
        GET /v1/actuals
        PUT /v1/estimates/<stage>
        POST /v1/estimates/<stage>/reset
        POST /v1/links/revoke
        GET /v1/webhooks
        POST /v1/webhooks
        GET /v1/webhooks/<webhook_id>
        PUT /v1/webhooks/<webhook_id>
        DELETE /v1/webhooks/<webhook_id>
        POST /v1/webhooks/<webhook_id>/secret
        POST /v1/webhooks/<webhook_id>/test
        POST /v1/webhooks/<webhook_id>/replay
        GET /v1/webhooks/<webhook_id>/deliveries
        GET /v1/webhooks/<webhook_id>/deliveries/<delivery_id>
        POST /v1/webhooks/<webhook_id>/deliveries/<delivery_id>/replay
    """,
}

SAMPLES = {"procedure_id": "pr-" + "0" * 32}


@pytest.fixture(scope="module")
def by_scopes(shared_keyed: Flask) -> dict[frozenset[str], FlaskClient]:
    """A caller for each choice of scopes."""
    choices = [choice for size in (1, 2, 3) for choice in combinations(SCOPES, size)]
    return {frozenset(choice): caller(shared_keyed, NORTH, *choice) for choice in choices}


def method_of(rule: Rule) -> str:
    (method,) = (rule.methods or set()) - {"HEAD", "OPTIONS"}
    return method


def path_of(rule: Rule) -> str:
    """With the names of its variables, without how they are read."""
    return re.sub(r"<(?:\w+:)?(\w+)>", r"<\1>", rule.rule)


def address(rule: Rule) -> str:
    """An address that leads there."""
    return re.sub(r"<(\w+)>", lambda variable: SAMPLES.get(variable[1], "x"), path_of(rule))


def routes(app: Flask) -> list[Rule]:
    return list(app.url_map.iter_rules())


def test_every_route_of_the_service_says_which_scope_it_needs(shared_keyed: Flask) -> None:
    found: dict[str, set[str]] = {scope: set() for scope in (OPEN, *SCOPES)}
    for rule in routes(shared_keyed):
        found[scope_of(shared_keyed, rule.endpoint)].add(f"{method_of(rule)} {path_of(rule)}")
    expected = {
        scope: {line.strip() for line in lines.strip().splitlines()} for scope, lines in EXPECTED.items()
    }
    assert found == expected


def test_a_view_that_does_not_say_serves_nobody(tmp_path: Any) -> None:
    app = keyed_service(tmp_path)
    app.add_url_rule("/forgotten", "forgotten", lambda: "secret")
    for client in (app.test_client(), caller(app, LOCAL)):
        response = client.get("/forgotten")
        assert response.status_code == 500
        assert "secret" not in response.text
    store_of(app).close()


def test_every_route_serves_keys_with_its_scope_alone(
    shared_keyed: Flask, by_scopes: dict[frozenset[str], FlaskClient]
) -> None:
    """A refused call has done nothing: it is refused before its view is reached."""
    for rule in routes(shared_keyed):
        needed, method, path = scope_of(shared_keyed, rule.endpoint), method_of(rule), address(rule)
        for scopes, client in by_scopes.items():
            response = client.open(path, method=method)
            assert response.status_code != 401
            denied = response.status_code == 403 and response.json["type"] == "/problems/scope-missing"  # type: ignore[index]  # a problem has a body
            assert denied == (needed != OPEN and needed not in scopes), (method, path, scopes)
            if denied:
                assert f"'{needed}'" in response.text
                challenge = f'{CHALLENGE}, error="insufficient_scope", scope="{needed}"'
                assert response.headers["WWW-Authenticate"] == challenge
        if needed != OPEN:
            assert is_refused(shared_keyed.test_client().open(path, method=method))


@pytest.mark.parametrize("method", ["HEAD", "OPTIONS", "PUT", "DELETE", "PATCH", "TRACE", "get", "FOO"])
def test_another_method_is_no_way_around(shared_keyed: Flask, method: str) -> None:
    for path in ("/v1/substrates", "/v1/procedures", "/v1/packs/active", "/v1/actuals"):
        response = shared_keyed.test_client().open(path, method=method)
        assert response.status_code in (401, 405)


@pytest.mark.parametrize(
    "header", ["X-HTTP-Method-Override", "X-Original-URL", "X-Rewrite-URL", "X-Forwarded-User"]
)
def test_a_header_of_proxies_is_no_way_around(shared_keyed: Flask, header: str) -> None:
    for value in ("GET", "/livez", "local", "admin"):
        assert is_refused(shared_keyed.test_client().get("/v1/substrates", headers={header: value}))


def test_the_description_names_the_scope_of_every_operation(shared_keyed: Flask) -> None:
    document = openapi_document(store_pack(shared_keyed))
    assert document["components"]["securitySchemes"]["key"]["scheme"] == "bearer"
    for rule in routes(shared_keyed):
        path = path_of(rule).replace("<", "{").replace(">", "}")
        described = document["paths"].get(path, {}).get(method_of(rule).lower())
        if described is None:
            assert scope_of(shared_keyed, rule.endpoint) == OPEN
            continue
        needed = scope_of(shared_keyed, rule.endpoint)
        assert described.get("security", []) == ([] if needed == OPEN else [{"key": [needed]}])
        assert (f"Needs a key with the scope `{needed}`." in described.get("description", "")) == (
            needed != OPEN
        )
        assert ({"401", "403"} <= described["responses"].keys()) == (needed != OPEN)


def store_pack(app: Flask) -> Any:
    return app.extensions["stagewright"].pack


def test_only_the_shop_of_the_service_changes_what_all_shops_work_by(shared_keyed: Flask) -> None:
    north, local = caller(shared_keyed, NORTH), caller(shared_keyed, LOCAL)
    pack, before = keep(shared_keyed, version(7)), in_force(local)
    for digest, status, slug in ((before, 403, "service-only"), (pack.digest, 404, "pack-unknown")):
        told(north.post(f"/v1/packs/{digest}/proof"), status, slug)
        told(north.post(f"/v1/packs/{digest}/renewal"), status, slug)
        told(north.delete(f"/v1/packs/{digest}"), status, slug)
        told(activate(north, digest), 422, "body-refused")
    told(north.post("/v1/packs", json={"files": version(8)}), 422, "pack-refused")
    told(north.post("/v1/packs/active/rollback", headers={"If-Match": "*"}), 409, "nothing-to-go-back-to")
    assert in_force(local) == before
    assert len(local.get("/v1/packs").json["items"]) == 2  # type: ignore[index]  # a 200 has a body
    assert activate(local, pack.digest).status_code == 200
    back = local.post("/v1/packs/active/rollback", headers={"If-Match": etag(local)})
    assert back.status_code == 200


def test_other_shops_read_the_packs_they_work_by(shared_keyed: Flask) -> None:
    north, local = caller(shared_keyed, NORTH, RULES), caller(shared_keyed, LOCAL)
    assert in_force(north) == in_force(local)
    mine, theirs = (client.get(f"/v1/packs/{in_force(local)}").json for client in (north, local))
    assert mine == theirs
    assert mine in (north.get("/v1/packs").json or {})["items"]


def test_the_right_scope_is_enough(shared_keyed: Flask) -> None:
    assert caller(shared_keyed, NORTH, LINE_ITEMS).post("/v1/procedures", json=line_item()).status_code == 201
    assert caller(shared_keyed, NORTH, RULES).get("/v1/packs/active").status_code == 200
    reset = caller(shared_keyed, NORTH, ADMIN).post("/v1/estimates/wash/reset")
    assert reset.status_code == 200
