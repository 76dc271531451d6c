"""Webhooks over HTTP: made, read, changed, removed, and given a new secret."""

from __future__ import annotations

import logging
import re
import zlib
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from checked_client import Json, snapshot
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from packs_at_hand import told
from sqlalchemy import select
from webhooks_at_hand import PATH, asked, changed, made, place, tag, tried

from api.events import addresses
from schemas.webhooks import EVENTS, LONGEST_URL, MOST_GRACE_MIN, PAUSED_BECAUSE, URL, WEBHOOKS
from storage.claims import Result
from storage.shops import LOCAL
from storage.tables import audit, idempotency, webhooks
from storage.webhook_records import BY_REQUEST, GONE
from storage.webhook_records import EVENTS as KEPT_EVENTS
from storage.webhooks import GRACE, MOST

SECRET = re.compile(r"whsec_[A-Za-z0-9+/]{43}=")


def test_a_webhook_is_made_with_a_secret_that_is_never_shown_again(shop: FlaskClient) -> None:
    response = shop.post(PATH, json=asked(description="for the front desk"))
    found: Any = response.json
    assert SECRET.fullmatch(found.pop("secret"))
    assert "no-store" in response.headers["Cache-Control"]
    assert response.location == place(found) == found["links"]["self"]
    read = shop.get(response.location)
    assert read.json == found
    assert read.headers["ETag"] == response.headers["ETag"]
    assert shop.get(PATH).json == {"items": [found]}
    assert (found["paused"], found["paused_at"], found["paused_because"]) == (False, None, None)
    assert (found["url"], found["events"], found["description"]) == (URL, [*EVENTS], "for the front desk")


def rotated(shop: FlaskClient, webhook: Json, **body: Any) -> str:
    """A new secret of a webhook."""
    response = shop.post(place(webhook, "secret"), json=body)
    assert response.status_code == 200, response.text
    return str((response.json or {})["secret"])


def test_no_answer_after_the_first_tells_a_secret(shop: FlaskClient) -> None:
    webhook = made(shop)
    delivery = tried(shop, webhook)
    secret = rotated(shop, webhook)
    answers = [
        shop.get(PATH),
        shop.get(place(webhook)),
        changed(shop, webhook, description="another"),
        shop.get(place(webhook, "deliveries")),
        shop.get(place(webhook, "deliveries", delivery["id"])),
        shop.post(place(webhook, "deliveries", delivery["id"], "replay")),
        shop.post(place(webhook, "replay")),
        shop.post(place(webhook, "test")),
        shop.get("/metrics"),
    ]
    assert {answer.status_code for answer in answers} <= {200, 202}
    sent = "".join(answer.text + str(answer.headers) for answer in answers)
    assert "whsec_" not in sent
    assert not any(each[6:] in sent for each in (webhook["secret"], secret))


def test_no_secret_gets_into_log_audit_or_kept_answers(
    service: Flask, shop: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        webhook = made(shop)
        key = {"Idempotency-Key": f'"{uuid4()}"'}
        shop.post(PATH, json=asked(), headers=key)
        shop.post(place(webhook, "secret"), json={}, headers={"Idempotency-Key": f'"{uuid4()}"'})
        changed(shop, webhook, paused=True)
    with snapshot(service).store._engine.connect() as connection:
        entries = list(connection.scalars(select(audit.c.entry)))
        answers = list(connection.scalars(select(idempotency.c.body)))
    assert len(answers) == 2
    assert "whsec_" not in caplog.text + "".join(entries)
    for answer in (zlib.decompress(body).decode() for body in answers):
        assert "whsec_" not in answer
        assert '"secret": null' in answer


def test_a_repetition_makes_no_second_webhook_and_tells_no_secret(shop: FlaskClient) -> None:
    key = {"Idempotency-Key": f'"{uuid4()}"'}
    first, again = (shop.post(PATH, json=asked(), headers=key) for _ in range(2))
    assert again.headers["Idempotency-Replayed"] == "true"
    assert (again.status_code, again.json) == (201, {**(first.json or {}), "secret": None})
    assert (again.location, again.headers["ETag"]) == (first.location, first.headers["ETag"])
    assert len((shop.get(PATH).json or {})["items"]) == 1
    told(shop.post(PATH, json=asked(URL, "procedure.issued"), headers=key), 422, "idempotency-key-reused")


def test_a_repetition_of_a_rotation_makes_no_further_secret(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    key = {"Idempotency-Key": f'"{uuid4()}"'}
    first, again = (shop.post(place(webhook, "secret"), json={}, headers=key) for _ in range(2))
    assert again.json == {**(first.json or {}), "secret": None}
    assert signing(service, shop, webhook) == ((first.json or {})["secret"], webhook["secret"])


def test_a_shop_may_have_so_many_and_no_more(shop: FlaskClient) -> None:
    held = [made(shop) for _ in range(MOST)]
    refusal = told(shop.post(PATH, json=asked()), 409, "too-many-webhooks")
    assert str(MOST) in refusal["detail"]
    assert shop.delete(place(held[0]), headers={"If-Match": "*"}).status_code == 204
    made(shop)


@pytest.mark.parametrize("name", WEBHOOKS)
def test_every_published_example_is_taken(shop: FlaskClient, name: str) -> None:
    assert shop.post(PATH, json=WEBHOOKS[name]["value"]).status_code == 201


@pytest.mark.parametrize(
    ("body", "pointer", "says"),
    [
        ({}, "/url", "is missing"),
        ({"url": URL}, "/events", "is missing"),
        (asked(URL, "procedure.issud"), "/events/0", "must be one of"),
        (asked(URL, "webhook.test"), "/events/0", "must be one of"),
        ({"url": URL, "events": []}, "/events", "must have 1 to"),
        ({"url": URL, "events": "procedure.issued"}, "/events", "must be a list"),
        (asked(URL, "procedure.issued", "procedure.issued"), "/events", "names an event twice"),
        ({"url": URL, "events": None}, "/events", "must not be null"),
        (asked(7), "/url", "must be text"),  # type: ignore[arg-type]  # what is refused
        (asked(""), "/url", "must have 1 to"),
        (asked("https://shop.example/" + "x" * 2000), "/url", "must have 1 to 2000"),
        (asked(description="two\nlines"), "/description", "one line of text"),
        (asked(description="x" * 201), "/description", "must have 1 to 200"),
        (asked(paused=True), "/paused", "is not a member here"),
        (asked(secret="whsec_mine"), "/secret", "is not a member here"),
        (asked(shop="south"), "/shop", "is not a member here"),
    ],
)
def test_what_cannot_be_used_is_told_with_its_place(
    shop: FlaskClient, body: Json, pointer: str, says: str
) -> None:
    refusal = told(shop.post(PATH, json=body), 422, "body-refused")
    assert any(each["pointer"] == pointer and says in each["detail"] for each in refusal["errors"])
    assert shop.get(PATH).json == {"items": []}


def test_an_address_is_refused_with_place_value_and_fix(shop: FlaskClient) -> None:
    (error,) = told(shop.post(PATH, json=asked("https://10.0.0.7/in")), 422, "body-refused")["errors"]
    assert (error["pointer"], error["value"]) == ("/url", "https://10.0.0.7/in")
    assert "not a public address; name a host" in error["detail"]


def test_a_change_is_made_by_who_has_seen_what_there_is(shop: FlaskClient) -> None:
    webhook = made(shop)
    body = {**asked(f"{URL}/2", "actuals.reported"), "paused": False}
    missing = told(shop.put(place(webhook), json=body), 428, "precondition-required")
    assert "GET /v1/webhooks/{webhook_id}" in missing["detail"]
    stale = tag(shop, webhook)
    first = shop.put(place(webhook), json=body, headers={"If-Match": stale})
    assert first.status_code == 200
    assert first.headers["ETag"] == tag(shop, webhook) != stale
    assert shop.get(place(webhook)).json == first.json
    assert (first.json["url"], first.json["events"]) == (f"{URL}/2", ["actuals.reported"])
    assert first.json["description"] is None
    for method in ("put", "delete"):
        late = shop.open(place(webhook), method=method, json=body, headers={"If-Match": stale})
        told(late, 412, "precondition-failed")
    assert shop.get(place(webhook)).json == first.json


@pytest.mark.parametrize("sent", ['W/"{}"', "{}x", '"x"', ""])
def test_a_tag_that_is_not_the_one_changes_nothing(shop: FlaskClient, sent: str) -> None:
    webhook = made(shop)
    headers = {"If-Match": sent.format(tag(shop, webhook).strip('"'))}
    told(shop.delete(place(webhook), headers=headers), 412, "precondition-failed")
    assert shop.get(place(webhook)).status_code == 200


def test_a_change_between_the_look_and_the_work_is_told(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two admins with the same tag: one of them is told."""
    webhook, store = made(shop), snapshot(service).store
    find, seen = store.webhooks.find, tag(shop, webhook)

    def found_and_changed(shop_id: str, webhook_id: str) -> Any:
        found = find(shop_id, webhook_id)
        store.webhooks.change(shop_id, webhook_id, description=f"by another admin {uuid4()}")
        return found

    monkeypatch.setattr(store.webhooks, "find", found_and_changed)
    body, headers = {**asked(f"{URL}/2"), "paused": False}, {"If-Match": seen}
    told(shop.put(place(webhook), json=body, headers=headers), 412, "precondition-failed")
    told(shop.delete(place(webhook), headers={"If-Match": "*"}), 412, "precondition-failed")
    monkeypatch.undo()
    read: Any = shop.get(place(webhook)).json
    assert read["url"] == URL
    assert read["description"].startswith("by another admin")


def test_a_webhook_is_paused_and_goes_on(shop: FlaskClient) -> None:
    webhook = made(shop)
    waiting = tried(shop, webhook)
    paused: Any = changed(shop, webhook, paused=True).json
    assert (paused["paused"], paused["paused_because"]) == (True, BY_REQUEST)
    assert datetime.fromisoformat(paused["paused_at"]) <= datetime.now(UTC)
    stopped: Any = shop.get(place(webhook, "deliveries", waiting["id"])).json
    assert (stopped["state"], stopped["due_at"]) == ("stopped", None)
    again: Any = changed(shop, webhook, paused=True, description="still").json
    assert again["paused_at"] == paused["paused_at"]
    on: Any = changed(shop, webhook, paused=False).json
    assert (on["paused"], on["paused_at"], on["paused_because"]) == (False, None, None)


def gone(service: Flask, webhook: Json) -> None:
    """As if the receiver had answered 410."""
    claims = snapshot(service).store.claims
    claim = claims.claim(LOCAL, webhook["id"], timedelta(minutes=1))
    assert claim is not None
    claims.gone(claim, Result(12, 410, "answered 410"))


def test_what_a_410_paused_is_told_and_can_be_let_go_on(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    tried(shop, webhook)
    seen = tag(shop, webhook)
    gone(service, webhook)
    found: Any = shop.get(place(webhook)).json
    assert (found["paused"], found["paused_because"]) == (True, GONE)
    stale = shop.put(place(webhook), json={**asked(), "paused": False}, headers={"If-Match": seen})
    told(stale, 412, "precondition-failed")
    kept: Any = changed(shop, webhook, description="who looks at it?").json
    assert kept["paused_because"] == GONE, "to change something else does not let it go on"
    on: Any = changed(shop, webhook, paused=False).json
    assert (on["paused"], on["paused_because"]) == (False, None)
    tried(shop, webhook)


def test_an_address_that_is_no_longer_allowed_can_still_be_paused(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    with snapshot(service).store._engine.begin() as connection:
        connection.execute(webhooks.update().values(url="http://10.1.2.3:8080/in"))
    assert changed(shop, webhook, paused=True).status_code == 200
    told(changed(shop, webhook, url="http://10.1.2.3:8080/other"), 422, "body-refused")


def test_a_webhook_is_removed_with_what_was_sent_to_it(shop: FlaskClient) -> None:
    webhook = made(shop)
    delivery = tried(shop, webhook)
    response = shop.delete(place(webhook), headers={"If-Match": tag(shop, webhook)})
    assert (response.status_code, response.data) == (204, b"")
    for path in (place(webhook), place(webhook, "deliveries"), place(webhook, "deliveries", delivery["id"])):
        told(shop.get(path), 404, "webhook-unknown")
    told(shop.delete(place(webhook), headers={"If-Match": "*"}), 404, "webhook-unknown")
    assert shop.get(PATH).json == {"items": []}


@pytest.mark.parametrize(("body", "grace"), [({}, GRACE), ({"grace_min": 30}, timedelta(minutes=30))])
def test_both_secrets_sign_for_a_while(
    service: Flask, shop: FlaskClient, body: Json, grace: timedelta
) -> None:
    webhook = made(shop)
    before = datetime.now(UTC)
    secret = rotated(shop, webhook, **body)
    until = datetime.fromisoformat((shop.get(place(webhook)).json or {})["previous_secret_until"])
    assert before + grace <= until <= datetime.now(UTC) + grace
    assert secret != webhook["secret"]
    assert signing(service, shop, webhook) == (secret, webhook["secret"])


def signing(service: Flask, shop: FlaskClient, webhook: Json) -> tuple[str, ...]:
    """The secrets that what is sent next is signed with."""
    tried(shop, webhook)
    claim = snapshot(service).store.claims.claim(LOCAL, webhook["id"], timedelta(minutes=1))
    assert claim is not None
    return claim.secrets


def test_a_secret_that_others_may_know_signs_nothing_more(service: Flask, shop: FlaskClient) -> None:
    webhook = made(shop)
    rotated(shop, webhook)
    secret = rotated(shop, webhook, grace_min=0)
    assert (shop.get(place(webhook)).json or {})["previous_secret_until"] is None
    assert signing(service, shop, webhook) == (secret,)


def test_a_lost_answer_costs_the_receiver_no_message(service: Flask, shop: FlaskClient) -> None:
    """It still has the first secret when the third is made."""
    webhook = made(shop)
    secrets = [rotated(shop, webhook), rotated(shop, webhook)]
    assert set(signing(service, shop, webhook)) == {webhook["secret"], *secrets}


@pytest.mark.parametrize("grace", [-1, MOST_GRACE_MIN + 1, 1.5, "60", True, None])
def test_a_grace_out_of_bounds_is_refused_and_nothing_rotated(
    service: Flask, shop: FlaskClient, grace: object
) -> None:
    webhook = made(shop)
    response = shop.post(place(webhook, "secret"), json={"grace_min": grace})
    assert told(response, 422, "body-refused")["errors"][0]["pointer"] == "/grace_min"
    assert signing(service, shop, webhook) == (webhook["secret"],)


def test_what_schemas_publish_is_what_is_kept() -> None:
    assert EVENTS == KEPT_EVENTS
    assert set(PAUSED_BECAUSE) == {BY_REQUEST, GONE}
    assert LONGEST_URL == addresses.LONGEST_URL


WORDS = st.text(st.characters(codec="ascii", categories=["L", "N"]), min_size=1, max_size=20)
WANTED = st.lists(st.sampled_from([*EVENTS]), min_size=1, unique=True)
CHANGE = st.fixed_dictionaries(
    {
        "url": WORDS.map(lambda word: f"{URL}/{word}"),
        "events": WANTED,
        "description": st.none() | WORDS,
        "paused": st.booleans(),
    }
)


@settings(deadline=None)
@given(changes=st.lists(CHANGE, min_size=1, max_size=4))
def test_what_was_put_last_is_what_is_read(app: Flask, changes: list[Json]) -> None:
    """Whatever came before it; and a webhook never gets a tag back that it had with other content."""
    client = app.test_client()
    webhook, seen = made(client), dict[str, Json]()
    for change in changes:
        response = changed(client, webhook, **change)
        assert response.status_code == 200
        found: Any = client.get(place(webhook)).json
        assert set(found["events"]) == set(change["events"])
        assert {name: found[name] for name in ("url", "description", "paused")} == {
            name: change[name] for name in ("url", "description", "paused")
        }
        assert seen.setdefault(response.headers["ETag"], found) == found
    assert client.delete(place(webhook), headers={"If-Match": "*"}).status_code == 204
