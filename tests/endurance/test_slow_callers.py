"""Callers that send slowly, or never on: they cost a connection, and nobody else waits for them."""

from __future__ import annotations

import socket
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from threading import Thread
from time import sleep

import pytest

from api.running import http_server, strict_reading
from api.running.http_server import HttpServer
from api.settings import Settings
from endurance.calling import HOST, Caller
from endurance.services import GUNICORN, SERVE, Service, running

MANY = 150
HEAD = b"POST /v1/identifications HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
HALF_A_BODY = HEAD + b"Content-Length: 1000\r\n\r\n{"
HALF_A_HEAD = HEAD[:40]


@pytest.fixture(scope="module", params=[SERVE, GUNICORN], ids=["serve", "gunicorn"])
def service(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("slow")
    with running(request.param, folder, f"sqlite:///{folder}/store.sqlite3") as service:
        yield service


@pytest.mark.parametrize(
    "sent", [b"", HALF_A_HEAD, HALF_A_BODY], ids=["nothing", "half a head", "half a body"]
)
def test_many_that_stall_hold_up_nobody(service: Service, sent: bytes) -> None:
    with ExitStack() as stack:
        for _ in range(MANY):
            stalled = stack.enter_context(socket.create_connection((HOST, service.port)))
            stalled.sendall(sent)
        for _ in range(20):
            assert Caller(service.port).get("/v1/substrates").status == 200


def test_one_that_sends_a_byte_at_a_time_is_answered_and_meanwhile_others_are(service: Service) -> None:
    body = b'{"marking": ">PP<"}'
    message = HEAD + b"Connection: close\r\nContent-Length: %d\r\n\r\n%s" % (len(body), body)
    with socket.create_connection((HOST, service.port), timeout=60) as slow:
        slow.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        for at in range(len(message)):
            slow.sendall(message[at : at + 1])
        assert Caller(service.port).get("/livez").status == 200
        assert slow.recv(1000).startswith(b"HTTP/1.1 200")


def test_those_that_do_not_read_their_answers_hold_up_nobody(service: Service) -> None:
    """The answers are larger than what the system takes for a connection, and many times over."""
    ask = b"GET /openapi.json HTTP/1.1\r\nHost: localhost\r\n\r\n"
    with ExitStack() as stack:
        for _ in range(20):
            deaf = stack.enter_context(socket.socket())
            deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            deaf.connect((HOST, service.port))
            deaf.sendall(ask * 20)
        for _ in range(20):
            assert Caller(service.port).get("/livez").status == 200


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """The port of a server whose patience is short."""
    monkeypatch.setattr(http_server, "SILENT_FOR_S", 1)
    monkeypatch.setattr(strict_reading, "RECEIVED_WITHIN_S", 1.0)
    with socket.create_server((HOST, 0)) as listening:
        server = HttpServer(_hello, [listening], Settings())
        thread = Thread(target=server.run)
        thread.start()
        yield listening.getsockname()[1]
        server.stop()
        thread.join()


def _hello(_environ: object, start_response: object) -> Sequence[bytes]:
    start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "5")])  # type: ignore[operator]
    return [b"hello"]


@pytest.mark.parametrize(
    "sent", [b"", HALF_A_HEAD, HALF_A_BODY], ids=["nothing", "half a head", "half a body"]
)
def test_a_connection_without_a_byte_is_closed_in_the_end(quick: int, sent: bytes) -> None:
    with socket.create_connection((HOST, quick), timeout=30) as silent:
        silent.sendall(sent)
        assert silent.recv(1) == b""


def test_a_request_that_never_ends_is_broken_off(quick: int) -> None:
    with socket.create_connection((HOST, quick), timeout=30) as dripping:
        dripping.sendall(HALF_A_BODY)
        with pytest.raises(OSError, match=r"reset|pipe"):
            _drip(dripping)


def test_a_connection_is_kept_as_long_as_it_is_used(quick: int) -> None:
    with socket.create_connection((HOST, quick), timeout=30) as kept:
        for _ in range(5):
            kept.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
            received = b""
            while not received.endswith(b"hello"):
                received += kept.recv(1000)
            sleep(0.4)


def _drip(connection: socket.socket) -> None:
    while True:
        connection.sendall(b" ")
        sleep(0.1)
