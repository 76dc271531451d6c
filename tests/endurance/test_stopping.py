"""SIGTERM: what was received whole is answered before the process ends, and only that was done."""

from __future__ import annotations

import re
import signal
import socket
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from threading import Thread
from time import sleep

import pytest

from bench.line_items import typical_line_items
from endurance.calling import HOST, Answer, Caller, Lost
from endurance.crash.checking import faults_of_all, repeat
from endurance.crash.databases import Database
from endurance.crash.writers import Writer
from endurance.services import GUNICORN, SERVE, Service, running, start

BODY = b'{"marking": ">PP<"}'
HEAD = (
    b"POST /v1/identifications HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
    b"Content-Length: %d\r\n\r\n" % len(BODY)
)
LONG = 60
"""So many line items in a batch take about a second at least."""


def url_in(folder: Path) -> str:
    return f"sqlite:///{folder / 'store.sqlite3'}"


class Asking(Thread):
    """Sends a batch that takes its time."""

    def __init__(self, service: Service) -> None:
        super().__init__()
        self.answer: Answer | None = None
        self._port = service.port
        bodies = [dict(each.body) for each in typical_line_items()]
        items = [{**bodies[n % len(bodies)], "line_item": {"reference": f"RO-{n}"}} for n in range(LONG)]
        self.body = {"line_items": items}
        self.start()

    def run(self) -> None:
        with suppress(Lost):
            self.answer = Caller(self._port).post("/v1/procedures/batch", self.body, "long")


@pytest.mark.parametrize("command", [SERVE, GUNICORN], ids=["serve", "gunicorn"])
def test_what_is_under_way_is_answered_and_nothing_more_is_taken(
    tmp_path: Path, command: Sequence[str]
) -> None:
    with running(command, tmp_path, url_in(tmp_path)) as service, ExitStack() as stack:
        arriving, stalled = (
            stack.enter_context(socket.create_connection((HOST, service.port), timeout=60)) for _ in range(2)
        )
        stalled.sendall(HEAD)
        arriving.sendall(HEAD + BODY[:5])
        asking = Asking(service)
        sleep(0.3)
        assert asking.is_alive(), "the batch was answered too soon to show anything"
        service.process.terminate()
        sleep(0.2)
        arriving.sendall(BODY[5:])
        assert arriving.recv(1000).startswith(b"HTTP/1.1 200")
        assert stalled.recv(1000) == b""
        assert service.process.wait(60) == 0
        asking.join()
        assert asking.answer is not None
        results = asking.answer.json()["results"]
        assert [result["line_item"]["reference"] for result in results] == [f"RO-{n}" for n in range(LONG)]
        with pytest.raises(Lost):
            Caller(service.port).get("/livez")


def test_writers_lose_nothing_when_the_service_is_stopped_and_started(tmp_path: Path) -> None:
    url = url_in(tmp_path)
    with running(SERVE, tmp_path, url) as service:
        writers = [Writer(service.port, f"RO-{n}", n) for n in range(4)]
        for writer in writers:
            writer.start()
        sleep(1.5)
        assert service.stop() == 0
        for writer in writers:
            writer.join()
    asked = [each for writer in writers for each in writer.asked]
    database = Database(url)
    with running(SERVE, tmp_path, url) as service:
        caller = Caller(service.port)
        for each in asked:
            if each.answer is None:
                # It came too late, and nothing of it was begun: its key is not held.
                assert repeat(each, caller, lambda: pytest.fail("begun, and never answered")) == "done anew"
        faults = faults_of_all(asked, caller, database)
    database.close()
    assert len(asked) > len(writers)
    assert faults == []


def test_a_second_interrupt_does_not_wait(tmp_path: Path) -> None:
    service = start(SERVE, tmp_path, url_in(tmp_path))
    asking = Asking(service)
    sleep(0.3)
    for _ in range(2):
        service.process.send_signal(signal.SIGINT)
        sleep(0.2)
    assert service.process.wait(60) == -signal.SIGINT
    asking.join()
    assert asking.answer is None
    assert not re.search("Traceback", service.log.read_text())
