"""API3:2023 Broken Object Property Level Authorization (OWASP API Security Top 10, 2023): nobody writes or
reads a property that is not theirs."""

from __future__ import annotations

import json

import pytest
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, key, store_of, with_key
from packs_at_hand import activate, issue, keep, line_item, told, version
from sqlalchemy import select
from webhooks_at_hand import PATH, asked, changed, made, place, tried

from storage.shops import LOCAL
from storage.tables import audit

REFUSALS = {
    "": "line-item-refused",
    "line_item": "line-item-refused",
    "part": "facts-refused",
    "damage": "facts-refused",
}
"""By the section of a line item that says what is not its to say; empty: the body itself."""


@pytest.fixture
def north(keyed: Flask) -> FlaskClient:
    return caller(keyed, NORTH)


@pytest.mark.parametrize("member", ["shop", "id", "pack", "issued_at", "key", "scopes"])
def test_a_line_item_cannot_say_whose_it_is(north: FlaskClient, member: str) -> None:
    for section, slug in REFUSALS.items():
        body = line_item()
        (body[section] if section else body)[member] = SOUTH
        told(north.post("/v1/procedures", json=body), 422, slug)


@pytest.mark.parametrize("name", ["shop", "key", "scope", "as_shop"])
def test_a_query_cannot_say_who_asks(north: FlaskClient, name: str) -> None:
    told(north.get(f"/v1/procedures?line_item=R1&{name}={SOUTH}"), 422, "query-refused")


@pytest.mark.parametrize("name", ["X-Shop", "X-Tenant", "X-Shop-Id", "Shop"])
def test_a_header_cannot_say_who_asks(keyed: Flask, north: FlaskClient, name: str) -> None:
    theirs = issue(caller(keyed, SOUTH))["id"]
    response = north.get(f"/v1/procedures/{theirs}", headers={name: SOUTH})
    told(response, 404, "procedure-unknown")


def test_reports_cannot_say_what_is_not_theirs_to_say(north: FlaskClient) -> None:
    procedure = issue(north)["id"]
    for member in ("shop", "predicted_min", "state", "reported_at"):
        body = {"actuals": [{"stage": "wash", "work_min": 5, member: SOUTH}]}
        told(north.post(f"/v1/procedures/{procedure}/actuals", json=body), 422, "body-refused")


def test_an_activation_cannot_say_who_decided(keyed: Flask) -> None:
    pack = keep(keyed, version(3))
    for member in ("origin", "by", "shop", "number"):
        response = activate(caller(keyed, LOCAL), pack.digest, **{member: "start"})
        told(response, 422, "body-refused")


def test_a_webhook_cannot_say_what_is_not_its_to_say(north: FlaskClient) -> None:
    webhook = made(north)
    for member in ("shop", "id", "secret", "created_at", "paused_because", "previous_secret_until", "links"):
        told(north.post(PATH, json=asked(**{member: SOUTH})), 422, "body-refused")
        told(changed(north, webhook, **{member: SOUTH}), 422, "body-refused")
        rotation = north.post(place(webhook, "secret"), json={member: SOUTH})
        told(rotation, 422, "body-refused")


def test_no_answer_tells_the_shop_or_anything_of_the_key(keyed: Flask) -> None:
    written = key(keyed, SOUTH)
    client = with_key(keyed, written)
    procedure = issue(client)["id"]
    paths = [f"/v1/procedures/{procedure}{place}" for place in ("", "/timeline", "/explanation", "/actuals")]
    paths += ["/v1/procedures?line_item=R1", "/v1/packs", "/v1/packs/active", "/v1/estimates", "/v1/actuals"]
    webhook = made(client)
    delivery = tried(client, webhook)["id"]
    paths += [PATH, place(webhook), place(webhook, "deliveries"), place(webhook, "deliveries", delivery)]
    for path in paths:
        response = client.get(path)
        assert response.status_code == 200, path
        sent = response.text + str(response.headers)
        assert not any(word in sent for word in (written.prefix, written.secret, f'"{SOUTH}"', "sw_"))


def test_what_is_done_with_a_key_is_told_in_the_audit_by_its_prefix(keyed: Flask) -> None:
    """Who did what: every change over HTTP names shop and key; a command has neither."""
    written = key(keyed, LOCAL)
    local = with_key(keyed, written)
    digest = (local.post("/v1/packs", json={"files": version(3)}).json or {})["digest"]
    assert local.post(f"/v1/packs/{digest}/proof").status_code == 200
    assert activate(local, digest).status_code == 200
    rolled = local.post("/v1/packs/active/rollback", headers={"If-Match": "*"})
    assert rolled.status_code == 200
    assert local.put("/v1/estimates/wash", json={"frozen": True}).status_code == 200
    assert local.put("/v1/estimates/wash", json={"frozen": False}).status_code == 200
    assert local.post("/v1/estimates/wash/reset").status_code == 200
    webhook = made(local)
    assert changed(local, webhook, paused=True).status_code == 200
    assert local.post(place(webhook, "secret"), json={}).status_code == 200
    assert local.delete(place(webhook), headers={"If-Match": "*"}).status_code == 204
    with store_of(keyed)._engine.connect() as connection:
        entries = [
            json.loads(text) for text in connection.scalars(select(audit.c.entry).order_by(audit.c.number))
        ]
    by_key = [
        entry["action"] for entry in entries if entry.get("by") == {"shop": LOCAL, "key": written.prefix}
    ]
    assert by_key == [
        "pack.kept",
        "pack.proven",
        "pack.activated",
        "pack.activated",
        "estimate.frozen",
        "estimate.unfrozen",
        "estimate.reset",
        "webhook.created",
        "webhook.changed",
        "webhook.rotated",
        "webhook.removed",
    ]
    others = {entry["action"] for entry in entries if "by" not in entry}
    assert others == {"pack.kept", "pack.activated", "shop.created", "key.created"}
    assert store_of(keyed).audit.verify().faults == ()
