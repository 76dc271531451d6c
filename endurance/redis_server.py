"""A Redis server of our own, which may be stopped and held still; that of others may not."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from time import sleep

from endurance.postgresql import HOST, free_port

LOOKS = 200


class NoRedis(Exception):
    """Redis is not installed here."""


class RedisServer:
    """A server that keeps nothing on disk: what it counted is gone when it ends."""

    def __init__(self, folder: Path) -> None:
        """Raises NoRedis."""
        found = shutil.which("redis-server")
        if found is None:
            raise NoRedis("needs the program redis-server")
        self.port = free_port()
        self.url = f"redis://{HOST}:{self.port}/0"
        self._command = [found, "--bind", HOST, "--port", str(self.port), "--save", "", "--appendonly", "no"]
        self._command += ["--dir", str(folder)]
        self.start()

    def start(self) -> None:
        self._process = subprocess.Popen(self._command, stdout=subprocess.DEVNULL)
        for _ in range(LOOKS):
            with suppress(ConnectionRefusedError), socket.create_connection((HOST, self.port)):
                return
            sleep(0.05)
        raise RuntimeError("the Redis server does not listen")

    def stop(self) -> None:
        """At once. May be repeated."""
        self._process.kill()
        self._process.wait()

    @contextmanager
    def held_still(self) -> Iterator[None]:
        """It takes connections, and answers nobody."""
        os.kill(self._process.pid, signal.SIGSTOP)
        try:
            yield
        finally:
            os.kill(self._process.pid, signal.SIGCONT)


@contextmanager
def redis_server() -> Iterator[RedisServer]:
    """A server that ends with the block. Raises NoRedis."""
    with TemporaryDirectory(prefix="stagewright-redis-") as folder:
        own = RedisServer(Path(folder))
        try:
            yield own
        finally:
            own.stop()
