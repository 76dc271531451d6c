"""API10:2023 Unsafe Consumption of APIs (OWASP API Security Top 10, 2023): what an endpoint answers is never
trusted. Its status counts, in time; nothing else of it is read, kept, followed or believed."""

from __future__ import annotations

import gzip
import logging
import socket
from collections.abc import Callable
from itertools import repeat
from pathlib import Path

import pytest
from receiving import LOOPBACK, Behaviour, Receiver, answering, certificate, receiving, speaking_tls

from api.events.delivering import Delivering
from api.events.sending import NotAnswered, Sender
from storage.shops import LOCAL
from storage.store import Store
from storage.webhook_records import GONE, ISSUED, Delivery, DeliveryState

SHORT_S, LONG_S = 0.5, 10.0
TOO_LATE = "no answer within 0.5 s"
NO_HTTP = "the connection ended before the answer, or what came is no HTTP"
MARK = "zq7secret4xw"
BUFFERED = 32 * 1024 * 1024
"""More than the buffers of a connection hold, and far less than what an endless answer would be."""


def dripping(start: bytes, drop: bytes) -> Callable[[Receiver], Behaviour]:
    """Begins an answer and goes on a little at a time, more often than any read would time out."""

    def behaviour(receiver: Receiver) -> Behaviour:
        def drip(connection: socket.socket) -> None:
            connection.sendall(start)
            while not receiver.over.wait(0.05):
                connection.sendall(drop)

        return drip

    return behaviour


def endless(start: bytes, chunk: bytes) -> tuple[Behaviour, list[int]]:
    """Begins an answer that has no end; the list is to hold how many bytes got away."""
    sent: list[int] = []

    def pour(connection: socket.socket) -> None:
        count = 0
        try:
            connection.sendall(start)
            for _ in repeat(None):
                count += connection.send(chunk)
        finally:
            sent.append(count)

    return pour, sent


@pytest.mark.parametrize(
    ("start", "drop"),
    [
        (b"", b""),
        (b"H", b""),
        (b"", b"H"),
        (b"HTTP/1.1 200 O", b"O"),
        (b"HTTP/1.1 200 OK\r\nX: ", b"x"),
        (b"HTTP/1.1 200 OK\r\n", b""),
        (b"", b"HTTP/1.1 100 Continue\r\n\r\n"),
    ],
    ids=["silent", "a letter", "letters", "status line", "header", "no end of headers", "for ever continue"],
)
def test_an_answer_that_never_ends_does_not_hold_us_up(start: bytes, drop: bytes) -> None:
    with receiving() as endpoint:
        endpoint.behaviour = dripping(start, drop)(endpoint)
        with pytest.raises(NotAnswered, match=TOO_LATE):
            Sender(LOOPBACK, SHORT_S).post(endpoint.url, {}, "{}")


def test_who_never_speaks_tls_does_not_hold_us_up() -> None:
    with receiving() as endpoint:
        endpoint.behaviour = dripping(b"", b"")(endpoint)
        with pytest.raises(NotAnswered, match=f"{TOO_LATE}|no TLS"):
            Sender(LOOPBACK, SHORT_S).post(endpoint.url.replace("http:", "https:"), {}, "{}")


@pytest.mark.parametrize("status", [200, 302, 500])
@pytest.mark.parametrize("length", ["Content-Length: 999999999999", "Transfer-Encoding: chunked", "X: y"])
def test_an_endless_body_is_not_read(status: int, length: str) -> None:
    head = f"HTTP/1.1 {status} x\r\nLocation: /elsewhere\r\n{length}\r\n\r\n".encode()
    chunk = b"10000\r\n" + b"x" * 65_536 + b"\r\n" if "chunked" in length else b"x" * 65_536
    pour, sent = endless(head, chunk)
    with receiving(pour) as endpoint:
        assert Sender(LOOPBACK, LONG_S).post(endpoint.url, {}, "{}").status == status
        while not sent:
            assert not endpoint.over.wait(0.01)
    assert sent[0] < BUFFERED
    assert len(endpoint.requests) == 1


def test_what_is_packed_is_not_unpacked() -> None:
    bomb = gzip.compress(bytes(64 * 1024 * 1024))
    with receiving(answering(200, "Content-Encoding: gzip", body=bomb)) as endpoint:
        assert Sender(LOOPBACK, LONG_S).post(endpoint.url, {}, "{}").status == 200
        assert endpoint.requests[0].headers["accept-encoding"] == "identity"


@pytest.mark.parametrize(
    "answer",
    [
        b"",
        b"\r\n\r\n",
        b"hello",
        b"\x00\xff" * 100,
        b"HTTP/1.1\r\n\r\n",
        b"HTTP/1.1 2OO OK\r\n\r\n",
        b"HTTP/1.1 20 OK\r\n\r\n",
        b"HTTP/1.1 -200 OK\r\n\r\n",
        b"HTTP/1.1 " + b"2" * 70_000 + b"\r\n\r\n",
        b"HTTP/1.1 200 OK\r\nX: " + b"x" * 70_000 + b"\r\n\r\n",
        b"HTTP/1.1 200 OK\r\n" + b"X: y\r\n" * 200 + b"\r\n",
        f"ICY {MARK}\r\n\r\n".encode(),
    ],
    ids=lambda answer: repr(answer[:20]),
)
def test_what_is_no_http_is_no_answer_and_is_not_quoted(answer: bytes) -> None:
    nonsense = receiving(lambda connection: connection.sendall(answer))
    with nonsense as endpoint, pytest.raises(NotAnswered) as why:
        Sender(LOOPBACK, LONG_S).post(endpoint.url, {}, "{}")
    assert str(why.value) == NO_HTTP


@pytest.mark.parametrize("status", [100, 101, 102, 199, 300, 304, 400, 404, 500, 599, 600, 999])
def test_only_a_status_of_two_hundred_and_some_counts_as_taken(
    status: int, delivered: Callable[[Behaviour], Delivery]
) -> None:
    ended = "HTTP/1.1 100 Continue\r\n\r\n" if status == 100 else f"HTTP/1.1 {status} x\r\n\r\n"
    delivery = delivered(lambda connection: connection.sendall(ended.encode()))
    assert delivery.state is DeliveryState.WAITING
    assert delivery.due_at is not None
    assert delivery.attempts[0].status == (None if status == 100 else status)


@pytest.mark.parametrize("status", [200, 201, 202, 204, 206, 226, 299])
def test_all_of_those_do(status: int, delivered: Callable[[Behaviour], Delivery]) -> None:
    assert delivered(answering(status)).state is DeliveryState.DELIVERED


def test_nothing_an_endpoint_says_is_kept_or_logged(
    delivered: Callable[[Behaviour], Delivery], caplog: pytest.LogCaptureFixture, store: Store
) -> None:
    caplog.set_level(logging.DEBUG)
    said = (
        f"HTTP/1.1 500 {MARK}\r\nX-Said: {MARK}\r\nSet-Cookie: a={MARK}\r\nRetry-After: {MARK}\r\n\r\n{MARK}"
    )
    delivery = delivered(lambda connection: connection.sendall(said.encode()))
    assert [each.reason for each in delivery.attempts] == ["answered 500"]
    with store._engine.connect() as connection:
        dumped = "\n".join(connection.connection.driver_connection.iterdump())  # type: ignore[union-attr]
    assert "answered 500" in dumped
    assert MARK not in dumped
    assert MARK not in caplog.text


def test_no_cookie_is_sent_back() -> None:
    with receiving(answering(204, f"Set-Cookie: session={MARK}")) as endpoint:
        sender = Sender(LOOPBACK, LONG_S)
        for _ in range(2):
            sender.post(endpoint.url, {}, "{}")
        assert all("cookie" not in each.headers for each in endpoint.requests)


def test_gone_counts_for_the_webhook_it_came_from_alone(
    delivered: Callable[[Behaviour], Delivery], store: Store
) -> None:
    other = store.webhooks.create(LOCAL, "https://shop.example/", [ISSUED]).webhook
    delivery = delivered(answering(410))
    assert delivery.state is DeliveryState.STOPPED
    gone, kept = (store.webhooks.find(LOCAL, each) for each in (delivery.webhook_id, other.id))
    assert gone is not None
    assert gone.disabled_because == GONE
    assert kept == other


def test_an_endpoint_can_hold_up_itself_for_an_hour_at_most(
    delivered: Callable[[Behaviour], Delivery],
) -> None:
    delivery = delivered(answering(429, "Retry-After: 99999999"))
    assert delivery.due_at is not None
    assert (delivery.due_at - delivery.created_at).total_seconds() < 3700


def test_a_certificate_is_believed_only_for_its_name_and_from_its_authority(tmp_path: Path) -> None:
    right, other = certificate(tmp_path, "localhost"), certificate(tmp_path, "other.example")
    with receiving(context=speaking_tls(right)) as endpoint:
        url = endpoint.url.replace("http:", "https:").replace("127.0.0.1", "localhost")
        assert Sender(LOOPBACK, LONG_S, authorities=right).post(url, {}, "{}").status == 204
        for sender, at in (
            (Sender(LOOPBACK, LONG_S), url),
            (Sender(LOOPBACK, LONG_S, authorities=other), url),
            (Sender(LOOPBACK, LONG_S, authorities=right), url.replace("localhost", "127.0.0.1")),
        ):
            with pytest.raises(NotAnswered, match="no TLS"):
                sender.post(at, {}, "{}")
        assert len(endpoint.requests) == 1


def test_the_environment_names_no_authority(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    right = certificate(tmp_path, "localhost")
    for name in ("REQUESTS_CA_BUNDLE", "CURL_CA_BUNDLE"):
        monkeypatch.setenv(name, str(right))
    with receiving(context=speaking_tls(right)) as endpoint:
        url = endpoint.url.replace("http:", "https:").replace("127.0.0.1", "localhost")
        with pytest.raises(NotAnswered, match="no TLS"):
            Sender(LOOPBACK, LONG_S).post(url, {}, "{}")


@pytest.fixture
def delivered(store: Store) -> Callable[[Behaviour], Delivery]:
    """What becomes of an event that is sent to an endpoint which behaves like that."""

    def deliver(behaviour: Behaviour) -> Delivery:
        with receiving(behaviour) as endpoint:
            made = store.webhooks.create(LOCAL, endpoint.url, [ISSUED]).webhook
            store.webhooks.test(LOCAL, made.id)
            # An event that is tried again, unlike a test.
            with store._engine.begin() as connection:
                connection.exec_driver_sql("UPDATE outbox SET event = 'procedure.issued'")
            work = Delivering(store.claims, Sender(LOOPBACK, LONG_S), LONG_S)
            work.serve(LOCAL, made.id, stopping=lambda: False)
            assert len(endpoint.requests) == 1
        (listed,) = store.deliveries.of_webhook(LOCAL, made.id, 5).items
        found = store.deliveries.find(LOCAL, made.id, listed.event_id)
        assert found is not None
        return found

    return deliver
