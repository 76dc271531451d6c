"""Workers in processes of their own, on queues and databases of both kinds."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from postgresql_at_hand import postgresql_schema
from waiting import PATIENCE_S, until

from endurance.services import environment_with

REDIS = "redis://127.0.0.1:6379/13"


@dataclass
class Workers:
    """Processes of `stagewright worker` that share a database and a queue."""

    database: str
    queue: str
    log: Path
    running: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def start(self, senders: int = 4) -> subprocess.Popen[bytes]:
        """One more; returns when it works."""
        settings = {
            "DATABASE": self.database,
            "QUEUE": self.queue,
            "SENDERS": str(senders),
            "WEBHOOK_NETWORKS": "127.0.0.0/8",
        }
        with self.log.open("ab") as written:
            process = subprocess.Popen(
                [sys.executable, "-m", "api.commands", "worker"],
                env=environment_with(settings),
                stdout=subprocess.PIPE,
                stderr=written,
            )
        self.running.append(process)
        assert process.stdout is not None
        assert b"tells webhooks" in process.stdout.readline(), self.log.read_text()
        return process

    def stop(self) -> None:
        """Kill whatever still runs."""
        for process in self.running:
            if process.poll() is None:
                process.kill()
            process.wait(PATIENCE_S)
            if process.stdout is not None:
                process.stdout.close()


def told_to_stop(process: subprocess.Popen[bytes]) -> int:
    """The exit code after SIGTERM."""
    process.send_signal(signal.SIGTERM)
    return process.wait(PATIENCE_S)


def wait_until(holds: Callable[[], bool], what: str) -> None:
    """Returns when it holds."""
    until(holds, lambda: what)


@contextmanager
def redis_queue() -> Iterator[str]:
    """A database of Redis, emptied of our queue in the end."""
    redis = pytest.importorskip("redis", reason="needs the driver of Redis (the extra `redis`)")
    client = redis.Redis.from_url(REDIS)
    try:
        client.ping()
    except redis.ConnectionError:
        pytest.skip("needs a Redis server on 127.0.0.1:6379")
    yield REDIS
    for key in client.scan_iter("huey.*stagewright*"):
        client.delete(key)
    client.close()


@pytest.fixture(params=["one machine", "several machines"])
def workers(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Workers]:
    """On SQLite alone, and on PostgreSQL with Redis."""
    with ExitStack() as stack:
        if request.param == "one machine":
            found = Workers(
                f"sqlite:///{tmp_path / 'store.sqlite3'}",
                f"sqlite:///{tmp_path / 'queue.sqlite3'}",
                tmp_path / "worker.log",
            )
        else:
            queue, database = stack.enter_context(redis_queue()), stack.enter_context(postgresql_schema())
            found = Workers(database, queue, tmp_path / "worker.log")
        stack.callback(found.stop)
        yield found
