"""The `webhooks` of the OpenAPI document: what is really sent is what it describes."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from actuals_at_hand import issued, post
from checked_client import Json, closed, snapshot
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator, FormatChecker
from packs_at_hand import activate, issue, keep, version
from webhooks_at_hand import made, tried

from api.events.payloads import body_of
from api.events.signing import signed_headers
from schemas.webhooks import EVENTS, TEST
from schemas.webhooks_events import PAYLOADS
from storage.claims import Result
from storage.deliveries import RETENTION
from storage.shops import LOCAL
from storage.webhook_records import Claim
from storage.webhook_secrets import MOST_BEFORE, new_secret

ARRIVED = Result(5, 204, "answered 204")


@pytest.fixture
def document(service: Flask) -> Json:
    found: Json = json.loads(snapshot(service).openapi)
    return found


def described(document: Json, event: str) -> Json:
    found: Json = document["webhooks"][event]["post"]
    return found


def hold(document: Json, event: str, body: Any) -> None:
    """Fails for a body that is not as described, or has a member that is not told."""
    content = described(document, event)["requestBody"]["content"]["application/json"]
    schema = {**closed(document), **content["schema"]}
    Draft202012Validator(schema, format_checker=FormatChecker()).validate(body)


def test_every_event_is_described_and_its_example_is_one(document: Json) -> None:
    assert list(document["webhooks"]) == list(PAYLOADS) == [*EVENTS, TEST]
    for event in document["webhooks"]:
        content = described(document, event)["requestBody"]["content"]["application/json"]
        hold(document, event, content["example"])
        assert content["example"]["type"] == event
        assert {"2XX", "410", "default"} == described(document, event)["responses"].keys()


def test_the_operations_tell_the_bounds_that_are_kept(document: Json) -> None:
    paths = document["paths"]
    listing = paths["/v1/webhooks/{webhook_id}/deliveries"]["get"]
    assert f"; {RETENTION.days} days after its end" in listing["summary"]
    rotation = paths["/v1/webhooks/{webhook_id}/secret"]["post"]
    assert f"of {['no', 'one', 'two', 'three', 'four'][MOST_BEFORE]} at most" in rotation["description"]
    assert f"{{0,{MOST_BEFORE}}}$" in described(document, TEST)["parameters"][2]["schema"]["pattern"]


def test_no_operation_has_the_name_of_another(document: Json) -> None:
    names = [
        operation["operationId"]
        for item in (*document["paths"].values(), *document["webhooks"].values())
        for method, operation in item.items()
        if method != "parameters"
    ]
    assert len(names) == len(set(names))


def test_what_is_sent_of_each_event_is_what_is_described(service: Flask, shop: FlaskClient) -> None:
    document = json.loads(snapshot(service).openapi)
    webhook = made(shop)
    procedure = issue(shop)
    entry = {"stage": procedure["stages"][0]["stage"], "work_min": 5}
    assert post(shop, procedure, entry).status_code == 200
    assert activate(shop, keep(service, version(5)).digest).status_code == 200
    tried(shop, webhook)
    seen = {}
    for claim in taken(service):
        body = json.loads(body_of(claim.event, claim.webhook_id))
        hold(document, claim.event.type, body)
        seen[body["type"]] = body["data"]
    assert seen.keys() == PAYLOADS.keys()
    assert seen[TEST] == {"webhook_id": webhook["id"]}
    for event in EVENTS:
        assert (seen[event]["line_item"], seen[event]["procedure_id"]) == ("R1", procedure["id"])
        assert all(shop.get(link).status_code == 200 for link in seen[event]["links"].values())
    active = (shop.get("/v1/packs/active").json or {})["pack"]["digest"]
    assert seen["procedure.superseded"]["pack_digest"] == active


def taken(app: Flask) -> list[Claim]:
    """All that waits, taken one after another, as a worker takes it."""
    claims, found = snapshot(app).store.claims, []
    for shop, webhook_id in claims.to_be_served(datetime.now(UTC)):
        while claim := claims.claim(shop, webhook_id, timedelta(minutes=1)):
            found.append(claim)
            claims.delivered(claim, ARRIVED)
    return found


@pytest.mark.parametrize("count", range(1, 6))
def test_the_headers_are_what_is_described(document: Json, count: int) -> None:
    headers = signed_headers([new_secret() for _ in range(count)], f"ev_{'7a' * 16}", "{}", datetime.now(UTC))
    for event in PAYLOADS:
        told = {each["name"]: each["schema"]["pattern"] for each in described(document, event)["parameters"]}
        assert told.keys() == headers.keys()
        assert all(re.search(pattern, headers[name]) for name, pattern in told.items())


def test_a_message_tells_nothing_of_people_or_of_the_part(client: FlaskClient, app: Flask) -> None:
    webhook = made(client)
    procedure = issued(client)
    (claim,) = [each for each in taken(app) if each.webhook_id == webhook["id"]]
    text = body_of(claim.event, claim.webhook_id)
    words = re.findall(r'"([^"]+)"', text)
    assert procedure["line_item"]["reference"] in words
    assert not {procedure["part"]["name"], procedure["material"]["symbol"], LOCAL}.intersection(words)
