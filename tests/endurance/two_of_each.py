"""Two services and two workers on one PostgreSQL and one Redis, and an endpoint that listens to them."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

from endurance.calling import HOST, Caller
from endurance.redis_server import RedisServer
from endurance.services import SERVE, Service, environment_with, running
from storage.key_records import SCOPES
from storage.shops import LOCAL
from storage.store import open_store

QUOTA = 60
"""Requests of a shop in an hour."""

NETWORKS = {"WEBHOOK_NETWORKS": "127.0.0.0/8"}


@dataclass
class Receiver:
    """An endpoint of a shop; `heard` are the ids of the events it was told of, as often as it was told."""

    url: str
    heard: list[str]


@dataclass
class Together:
    """The two services, which know the same keys."""

    services: tuple[Service, Service]
    workers: tuple[subprocess.Popen[bytes], subprocess.Popen[bytes]]
    database: str
    receiver: Receiver

    def callers(self, shop: str) -> tuple[Caller, Caller]:
        """One of each service, with one key of an invented shop; `local` is there already."""
        store = open_store(self.database)
        if shop != LOCAL:
            store.shops.create(shop, "invented", "tests")
        key = store.keys.create(shop, "invented", tuple(SCOPES), "tests").text
        store.close()
        first, second = (Caller(each.port, {"Authorization": f"Bearer {key}"}) for each in self.services)
        return first, second


@contextmanager
def together(folder: Path, database: str, redis: RedisServer) -> Iterator[Together]:
    """All of them, until the end of the block; the workers must end in order then."""
    settings = {"OPEN": "no", "RATE_STORAGE": redis.url, "RATE_LIMIT": str(QUOTA), "RATE_WINDOW_S": "3600"}
    folders = [folder / name for name in ("one", "other")]
    with ExitStack() as stack:
        receiver = stack.enter_context(receiving())
        for each in folders:
            each.mkdir()
        one, other = (
            stack.enter_context(running(SERVE, each, database, **settings, **NETWORKS)) for each in folders
        )
        first, second = (_worker(each / "worker.log", database, redis.url) for each in folders)
        for worker in (first, second):
            stack.callback(_end, worker)
        yield Together((one, other), (first, second), database, receiver)


@contextmanager
def receiving() -> Iterator[Receiver]:
    """An endpoint that listens, and answers that all is well."""
    heard: list[str] = []

    class Listening(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            heard.append(self.headers["webhook-id"])
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_arguments: Any) -> None:
            pass

    with ThreadingHTTPServer((HOST, 0), Listening) as server:
        Thread(target=server.serve_forever).start()
        try:
            yield Receiver(f"http://{HOST}:{server.server_port}/events", heard)
        finally:
            server.shutdown()


def _worker(log: Path, database: str, queue: str) -> subprocess.Popen[bytes]:
    environment = environment_with({"DATABASE": database, "QUEUE": queue, **NETWORKS})
    command = [sys.executable, "-m", "api.commands", "worker"]
    with log.open("w") as written:
        return subprocess.Popen(command, stdout=written, stderr=written, env=environment)


def _end(worker: subprocess.Popen[bytes]) -> None:
    worker.terminate()
    assert worker.wait(60) == 0
