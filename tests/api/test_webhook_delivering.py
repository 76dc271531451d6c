"""Deliveries, from the store to an endpoint and back: signed, logged, tried again, given up."""

from __future__ import annotations

import logging
import socket
from datetime import UTC, datetime, timedelta

import pytest
from receiving import LOOPBACK, Names, Received, Receiver, answering, endpoint, names, receiving
from standardwebhooks import Webhook as Verifier
from standardwebhooks import WebhookVerificationError

from api.events.delivering import Delivering
from api.events.schedule import DELAYS
from api.events.sending import Sender
from storage.shops import LOCAL
from storage.store import Store
from storage.webhook_records import ISSUED, TEST, Delivery, DeliveryState, Webhook

__all__ = ["endpoint", "names"]

TIMEOUT_S = 10.0


def webhook(store: Store, url: str) -> Webhook:
    return store.webhooks.create(LOCAL, url, [ISSUED]).webhook


def happen(store: Store, of: Webhook, events: int = 1) -> None:
    """Events that are tried again, unlike a test."""
    for _ in range(events):
        store.webhooks.test(LOCAL, of.id)
    with store._engine.begin() as connection:
        connection.exec_driver_sql(f"UPDATE outbox SET event = '{ISSUED}'")


def serve(store: Store, of: Webhook, timeout_s: float = TIMEOUT_S, stopping: bool = False) -> None:
    work = Delivering(store.claims, Sender(LOOPBACK, timeout_s), timeout_s, chance=lambda: 0.5)
    work.serve(LOCAL, of.id, stopping=lambda: stopping)


def due_now(store: Store) -> None:
    """As if the time of every next attempt had come."""
    with store._engine.begin() as connection:
        connection.exec_driver_sql("UPDATE deliveries SET due_at = created_at WHERE due_at IS NOT NULL")


def only(store: Store, of: Webhook) -> Delivery:
    (listed,) = store.deliveries.of_webhook(LOCAL, of.id, 5).items
    found = store.deliveries.find(LOCAL, of.id, listed.event_id)
    assert found is not None
    return found


def verified(request: Received, secret: str) -> bool:
    try:
        Verifier(secret).verify(request.body, request.headers)
    except WebhookVerificationError:
        return False
    return True


def test_what_arrives_is_what_its_receiver_can_verify(store: Store, endpoint: Receiver) -> None:
    made = store.webhooks.create(LOCAL, endpoint.url, [ISSUED])
    test = store.webhooks.test(LOCAL, made.webhook.id)
    serve(store, made.webhook)
    (request,) = endpoint.requests
    assert request.line == "POST /events HTTP/1.1"
    assert request.headers["content-type"] == "application/json"
    assert request.headers["user-agent"] == "stagewright"
    assert request.event_id == test.event_id
    assert verified(request, made.secret)
    assert request.json()["type"] == TEST
    assert request.json()["data"] == {"webhook_id": made.webhook.id}


def test_the_log_tells_of_every_attempt_and_of_no_secret(
    store: Store, endpoint: Receiver, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO)
    made = store.webhooks.create(LOCAL, f"{endpoint.url}?token=endpoint-own", [ISSUED])
    happen(store, made.webhook)
    for status in (500, 204):
        endpoint.behaviour = answering(status)
        due_now(store)
        serve(store, made.webhook)
    assert [record.getMessage().partition(", in ")[0] for record in caplog.records] == [
        f"{endpoint.requests[0].event_id} to {made.webhook.id}, attempt {number}: answered {status}"
        for number, status in ((1, 500), (2, 204))
    ]
    assert {(record.shop, record.webhook, record.type) for record in caplog.records} == {  # type: ignore[attr-defined]
        (LOCAL, made.webhook.id, ISSUED)
    }
    for secret in (made.secret, "endpoint-own", endpoint.requests[0].headers["webhook-signature"]):
        assert secret not in caplog.text


def test_while_a_secret_is_changed_both_verify(store: Store, endpoint: Receiver) -> None:
    made = store.webhooks.create(LOCAL, endpoint.url, [ISSUED])
    rotated = store.webhooks.rotate(LOCAL, made.webhook.id)
    happen(store, made.webhook)
    serve(store, made.webhook)
    last = store.webhooks.rotate(LOCAL, made.webhook.id, timedelta(0))
    happen(store, made.webhook)
    serve(store, made.webhook)
    first, second = endpoint.requests
    assert [verified(first, secret) for secret in (made.secret, rotated.secret)] == [True, True]
    known = (made.secret, rotated.secret, last.secret)
    assert [verified(second, secret) for secret in known] == [False, False, True]


def test_every_attempt_has_the_same_id_and_body_and_a_time_of_its_own(
    store: Store, endpoint: Receiver
) -> None:
    made = store.webhooks.create(LOCAL, endpoint.url, [ISSUED])
    happen(store, made.webhook)
    endpoint.behaviour = answering(500)
    before = datetime.now(UTC)
    for _ in range(3):
        due_now(store)
        serve(store, made.webhook)
    store.deliveries.replay(LOCAL, made.webhook.id, endpoint.requests[0].event_id)
    serve(store, made.webhook)
    assert len(endpoint.requests) == 4
    assert len({(each.event_id, each.body) for each in endpoint.requests}) == 1
    for request in endpoint.requests:
        assert verified(request, made.secret)
        at = datetime.fromtimestamp(int(request.headers["webhook-timestamp"]), UTC)
        assert before - timedelta(seconds=1) <= at <= datetime.now(UTC)


@pytest.mark.parametrize(
    ("status", "reason"),
    [
        (301, "answered 301; redirects are not followed"),
        (400, "answered 400"),
        (404, "answered 404"),
        (429, "answered 429"),
        (500, "answered 500"),
        (502, "answered 502"),
        (503, "answered 503"),
    ],
)
def test_a_failure_is_told_in_words_and_tried_again_by_the_schedule(
    store: Store, endpoint: Receiver, status: int, reason: str
) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of)
    endpoint.behaviour = answering(status, "Location: /elsewhere")
    serve(store, of)
    delivery = only(store, of)
    (attempt,) = delivery.attempts
    assert (attempt.status, attempt.reason) == (status, reason)
    assert attempt.duration_ms is not None
    assert delivery.due_at is not None
    assert DELAYS[0] <= delivery.due_at - attempt.at <= DELAYS[0] * 1.2 + timedelta(seconds=TIMEOUT_S)
    assert len(endpoint.requests) == 1


def test_no_answer_is_told_in_words_too(store: Store, names: Names) -> None:
    with receiving() as endpoint:
        silent = endpoint.url
        endpoint.behaviour = lambda connection: endpoint.over.wait(60) and None
        closed = socket.create_server(("127.0.0.1", 0))
        refusing = f"http://127.0.0.1:{closed.getsockname()[1]}/"
        closed.close()
        names.lead("private.example", ["10.0.0.1"])
        reasons = []
        for url in (silent, refusing, "https://private.example/", "https://nowhere.example/"):
            of = webhook(store, url)
            happen(store, of)
            serve(store, of, timeout_s=0.5)
            (attempt,) = only(store, of).attempts
            assert attempt.status is None
            reasons.append(attempt.reason)
    unreachable = "the host leads to no address that may be reached"
    assert reasons == ["no answer within 0.5 s", "the connection was refused", unreachable, unreachable]


def test_ten_attempts_over_three_days_and_then_it_is_given_up(store: Store, endpoint: Receiver) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of)
    endpoint.behaviour = answering(503)
    waited = timedelta()
    for number in range(1, len(DELAYS) + 1):
        serve(store, of)
        delivery = only(store, of)
        assert (delivery.state, delivery.attempt_count) == (DeliveryState.WAITING, number)
        assert delivery.due_at is not None
        waited += delivery.due_at - delivery.attempts[-1].at
        due_now(store)
    assert waited > timedelta(days=3)
    serve(store, of)
    delivery = only(store, of)
    assert (delivery.state, delivery.due_at) == (DeliveryState.GIVEN_UP, None)
    serve(store, of)
    assert len(endpoint.requests) == 10


def test_a_test_is_sent_once(store: Store, endpoint: Receiver) -> None:
    of = webhook(store, endpoint.url)
    store.webhooks.test(LOCAL, of.id)
    endpoint.behaviour = answering(500)
    serve(store, of)
    assert only(store, of).state is DeliveryState.GIVEN_UP


def test_gone_ends_it_and_nothing_more_is_sent(store: Store, endpoint: Receiver) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of, events=3)
    endpoint.behaviour = answering(410)
    serve(store, of)
    serve(store, of)
    assert len(endpoint.requests) == 1
    kept = store.webhooks.find(LOCAL, of.id)
    assert kept is not None
    assert not kept.enabled
    assert {each.state for each in store.deliveries.of_webhook(LOCAL, of.id, 5).items} == {
        DeliveryState.STOPPED
    }


def test_quiet_is_kept_for_all_events_of_the_endpoint(store: Store, endpoint: Receiver) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of, events=2)
    endpoint.behaviour = answering(429, "Retry-After: 600")
    serve(store, of)
    serve(store, of)
    assert len(endpoint.requests) == 1
    assert store.claims.to_be_served(datetime.now(UTC) + timedelta(seconds=590)) == []
    assert store.claims.to_be_served(datetime.now(UTC) + timedelta(seconds=610)) == [(LOCAL, of.id)]


def test_a_turn_sends_all_that_is_due_and_ends_with_the_first_failure(
    store: Store, endpoint: Receiver
) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of, events=5)
    serve(store, of)
    assert len({each.event_id for each in endpoint.requests}) == 5
    happen(store, of, events=3)
    endpoint.behaviour = answering(500)
    serve(store, of)
    assert len(endpoint.requests) == 6


def test_who_is_to_stop_sends_nothing_more(store: Store, endpoint: Receiver) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of)
    serve(store, of, stopping=True)
    assert endpoint.connections == 0
    assert only(store, of).attempt_count == 0


def test_an_address_that_the_settings_no_longer_allow_is_not_sent_to(
    store: Store, endpoint: Receiver
) -> None:
    of = webhook(store, endpoint.url)
    happen(store, of)
    Delivering(store.claims, Sender((), TIMEOUT_S), TIMEOUT_S).serve(LOCAL, of.id, stopping=lambda: False)
    assert endpoint.connections == 0
    assert only(store, of).attempts[0].reason == "the address must begin with https://"
