"""Deliveries over HTTP: a test send, the log page by page, and sending again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from checked_client import Json, snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import issue, told
from sqlalchemy import update
from webhooks_at_hand import PATH, changed, listed, made, place, tried

from schemas.webhooks import STATES
from schemas.webhooks import TEST as TOLD_TEST
from storage.claims import Result
from storage.shops import LOCAL
from storage.tables import deliveries, webhooks
from storage.webhook_records import TEST, Claim, DeliveryState

REFUSED = Result(7, None, "the connection was refused")


def claimed(service: Flask, webhook: Json) -> Claim:
    """What a worker sends next."""
    claim = snapshot(service).store.claims.claim(LOCAL, webhook["id"], timedelta(minutes=1))
    assert claim is not None
    return claim


def given_up(service: Flask, webhook: Json) -> str:
    """Let what waits be sent and fail for the last time; its id."""
    claim = claimed(service, webhook)
    snapshot(service).store.claims.failed(claim, REFUSED, None)
    return claim.event.id


def test_a_test_send_waits_and_its_outcome_is_read_where_it_says(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop, "https://shop.example/in", "actuals.reported")
    response = shop.post(place(webhook, "test"))
    sent: Any = response.json
    assert response.status_code == 202
    assert response.location == place(webhook, "deliveries", sent["id"]) == sent["links"]["self"]
    assert (sent["event"], sent["state"], sent["attempts"]) == ("webhook.test", "waiting", [])
    assert (sent["line_item"], sent["links"]["procedure"]) == (None, None)
    assert shop.get(response.location).json == sent
    claim = claimed(service, webhook)
    (under_way,) = (shop.get(response.location).json or {})["attempts"]
    assert (under_way["duration_ms"], under_way["status"], under_way["reason"]) == (None, None, None)
    snapshot(service).store.claims.delivered(claim, Result(31, 204, "answered 204"))
    found: Any = shop.get(response.location).json
    (attempt,) = found["attempts"]
    assert (found["state"], found["due_at"], found["attempt_count"]) == ("delivered", None, 1)
    assert {**attempt, "at": None} == {
        "at": None,
        "duration_ms": 31,
        "status": 204,
        "reason": "answered 204",
    }
    assert found["ended_at"] >= attempt["at"] >= found["created_at"]


def test_what_happens_is_listed_the_newest_first_with_what_it_is_about(shop: FlaskClient) -> None:
    webhook = made(shop)
    procedure = issue(shop)
    (found,) = listed(shop, webhook)
    assert (found["event"], found["line_item"]) == ("procedure.issued", "R1")
    assert shop.get(found["links"]["procedure"]).json == procedure
    assert "attempts" not in found
    issue(shop, kind="scratch")
    assert [each["event"] for each in listed(shop, webhook)] == ["procedure.issued"] * 2
    assert listed(shop, webhook)[1] == found


def test_a_list_is_given_page_by_page_and_each_delivery_once(shop: FlaskClient) -> None:
    webhook = made(shop)
    sent = [tried(shop, webhook)["id"] for _ in range(5)]
    seen, address = list[str](), f"{place(webhook, 'deliveries')}?limit=2&state=waiting"
    pages = 0
    while address:
        response = shop.get(address)
        seen += [each["id"] for each in (response.json or {})["items"]]
        link = response.headers.get("Link", "")
        address = link[1 : link.index(">")] if link else ""
        assert not address or "state=waiting" in address
        pages += 1
    assert (sorted(seen), pages) == (sorted(sent), 3)
    every = listed(shop, webhook)
    assert [each["id"] for each in every] == seen


@pytest.mark.parametrize("state", STATES)
def test_a_list_may_be_of_one_state(service: Flask, shop: FlaskClient, state: str) -> None:
    webhook = made(shop)
    for each in STATES:
        sent = tried(shop, webhook)
        with snapshot(service).store._engine.begin() as connection:
            connection.execute(
                update(deliveries).where(deliveries.c.event_id == sent["id"]).values(state=each)
            )
    assert [each["state"] for each in listed(shop, webhook, f"?state={state}")] == [state]


@pytest.mark.parametrize("query", ["state=lost", "state=", "state=WAITING", "limit=0", "page=2", "cursor=x"])
def test_a_query_that_says_nothing_is_refused(shop: FlaskClient, query: str) -> None:
    webhook = made(shop)
    told(shop.get(f"{place(webhook, 'deliveries')}?{query}"), 422, "query-refused")


def test_a_delivery_that_was_given_up_is_sent_again_under_its_id(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    issue(shop)
    event = given_up(service, webhook)
    path = place(webhook, "deliveries", event)
    before: Any = shop.get(path).json
    assert (before["state"], before["due_at"]) == ("given_up", None)
    response = shop.post(f"{path}/replay")
    again: Any = response.json
    assert (response.status_code, response.location) == (202, path)
    assert (again["id"], again["state"], again["ended_at"]) == (event, "waiting", None)
    assert datetime.fromisoformat(again["due_at"]) <= datetime.now(UTC)
    assert claimed(service, webhook).event.id == event
    assert (shop.get(path).json or {})["attempt_count"] == 2


def test_all_that_was_missed_is_sent_again_at_once(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    for kind in ("crack", "scratch"):
        issue(shop, kind=kind)
    missed = {given_up(service, webhook) for _ in range(2)}
    issue(shop, reference="R2")
    response = shop.post(place(webhook, "replay"))
    assert (response.status_code, response.json) == (202, {"deliveries": 2})
    waiting = {each["id"] for each in listed(shop, webhook, "?state=waiting")}
    assert waiting > missed
    assert shop.post(place(webhook, "replay")).json == {"deliveries": 0}


def test_what_a_pause_stopped_is_sent_again_once_it_goes_on(shop: FlaskClient) -> None:
    webhook = made(shop)
    stopped = tried(shop, webhook)["id"]
    changed(shop, webhook, paused=True)
    for path in ("test", "replay", f"deliveries/{stopped}/replay"):
        refusal = told(shop.post(place(webhook, path)), 409, "webhook-paused")
        assert "paused: false" in refusal["detail"]
    issue(shop)
    changed(shop, webhook, paused=False)
    assert [each["state"] for each in listed(shop, webhook)] == ["stopped"], "what happened is not sent later"
    assert shop.post(place(webhook, "replay")).json == {"deliveries": 1}


@pytest.mark.parametrize("place_of", ["test", "replay"])
def test_a_repetition_sends_nothing_more(service: Flask, shop: FlaskClient, place_of: str) -> None:
    webhook = made(shop)
    issue(shop)
    given_up(service, webhook)
    key = {"Idempotency-Key": f'"{uuid4()}"'}
    first, again = (shop.post(place(webhook, place_of), headers=key) for _ in range(2))
    assert again.headers["Idempotency-Replayed"] == "true"
    assert (again.status_code, again.json, again.location) == (202, first.json, first.location)


NOBODYS = {"wh": f"wh_{'0' * 32}", "ev": f"ev_{'0' * 32}"}


@pytest.mark.parametrize(
    "webhook_id", [NOBODYS["wh"], "wh_", "x", "wh_" + "A" * 32, "wh_" + "%D9%A0" * 32, "%00", "%F0%9F%92%A5"]
)
def test_an_unknown_webhook_is_told_whatever_is_asked_of_it(shop: FlaskClient, webhook_id: str) -> None:
    for method, rest in [
        ("get", ""),
        ("delete", ""),
        ("post", "/test"),
        ("post", "/replay"),
        ("get", "/deliveries"),
        ("get", f"/deliveries/{NOBODYS['ev']}"),
        ("post", f"/deliveries/{NOBODYS['ev']}/replay"),
    ]:
        response = shop.open(f"{PATH}/{webhook_id}{rest}", method=method, headers={"If-Match": "*"})
        told(response, 404, "webhook-unknown")


@pytest.mark.parametrize("event", [NOBODYS["ev"], "x", "ev_" + "A" * 32, "%00"])
def test_an_unknown_delivery_is_told(shop: FlaskClient, event: str) -> None:
    webhook = made(shop)
    told(shop.get(place(webhook, "deliveries", event)), 404, "delivery-unknown")
    told(shop.post(place(webhook, "deliveries", event, "replay")), 404, "delivery-unknown")


def test_a_delivery_of_another_webhook_of_the_shop_is_unknown(shop: FlaskClient) -> None:
    first, second = made(shop), made(shop)
    sent = tried(shop, first)["id"]
    told(shop.get(place(second, "deliveries", sent)), 404, "delivery-unknown")
    told(shop.post(place(second, "deliveries", sent, "replay")), 404, "delivery-unknown")
    assert listed(shop, second) == []


def test_the_states_that_are_published_are_those_there_are() -> None:
    assert list(STATES) == [state.value for state in DeliveryState]
    assert TOLD_TEST == TEST


def test_a_webhook_that_is_removed_meanwhile_is_told(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the look at it and the work on it, as another process may."""
    store = snapshot(service).store
    for path in ("test", "replay", "secret"):
        webhook = made(shop)
        find = store.webhooks.find

        def found_and_removed(shop_id: str, webhook_id: str, find: Any = find) -> Any:
            found = find(shop_id, webhook_id)
            with store._engine.begin() as connection:
                connection.execute(webhooks.delete())
            return found

        monkeypatch.setattr(store.webhooks, "find", found_and_removed)
        body = {"json": {}} if path == "secret" else {}
        told(shop.post(place(webhook, path), **body), 404, "webhook-unknown")
        monkeypatch.undo()
