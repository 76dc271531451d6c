"""The service as `stagewright serve` runs it, in a process of its own, and raw requests to it."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPResponse
from io import BytesIO
from pathlib import Path
from typing import Any

HOST = "127.0.0.1"
PATIENCE_S = 60.0


@dataclass(frozen=True)
class Answered:
    """One answer, read to its end. `rest` is what the server sent after it."""

    status: int
    headers: dict[str, str]
    body: bytes
    rest: bytes = b""

    @property
    def media_type(self) -> str:
        return self.headers.get("content-type", "").partition(";")[0]

    def json(self) -> Any:
        return json.loads(self.body)


@contextmanager
def served(folder: Path, keyed: bool = False) -> Iterator[int]:
    """A service with a database in `folder`, with keys where told so; gives its port."""
    log = folder / "serve.log"
    command = [sys.executable, "-m", "api.commands", "serve", "--port", "0", *([] if keyed else ["--open"])]
    command += ["--database", f"sqlite:///{folder / 'store.sqlite3'}"]
    with log.open("w") as written:
        process = subprocess.Popen(command, stdout=written, stderr=written)
    try:
        yield _port(process, log)
    finally:
        os.kill(process.pid, signal.SIGTERM)
        process.wait(PATIENCE_S)


def _port(process: subprocess.Popen[bytes], log: Path) -> int:
    """Waits until the service says where it listens."""
    while True:
        found = re.search(r"answers at http://127\.0\.0\.1:(\d+)", log.read_text())
        if found:
            return int(found[1])
        try:
            process.wait(0.1)
        except subprocess.TimeoutExpired:
            continue
        raise AssertionError(f"the service ended: {log.read_text()}")


def exchange(port: int, *pieces: bytes, method: str = "GET") -> Answered | None:
    """Send the pieces one after another, and no more; the first answer, or None where none comes."""
    with socket.create_connection((HOST, port), timeout=PATIENCE_S) as connection:
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        # A server that has answered already does not read on.
        with suppress(OSError):
            for piece in pieces:
                connection.sendall(piece)
            connection.shutdown(socket.SHUT_WR)
        return first_answer(_everything(connection), method)


def first_answer(received: bytes, method: str) -> Answered | None:
    """The first answer in what a server sent, and what comes after it."""
    if not received:
        return None
    stream = BytesIO(received)
    response = HTTPResponse(_Received(stream), method=method)  # type: ignore[arg-type]
    response.begin()
    body = response.read()
    headers = {name.lower(): value for name, value in response.getheaders()}
    return Answered(response.status, headers, body, stream.read())


class _Received:
    """Stands in for a socket; what was received stays open when the answer has been read."""

    def __init__(self, stream: BytesIO) -> None:
        self.stream = stream

    def makefile(self, _mode: str) -> BytesIO:
        self.stream.close = lambda: None  # type: ignore[method-assign]
        return self.stream


def _everything(connection: socket.socket) -> bytes:
    received = b""
    with suppress(ConnectionResetError):
        while more := connection.recv(65_536):
            received += more
    return received
