"""The service under gunicorn, as `docker/Dockerfile` starts it, on 127.0.0.1."""

from __future__ import annotations

import os
import re
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import requests
from small_pack import SMALL_PACK, small_pack
from waiting import PATIENCE_S, until

from endurance.services import GUNICORN, environment_with

HOST = "127.0.0.1"
LINE_ITEM = {
    "line_item": {"reference": "R1"},
    "part": {"name": "bumper cover", "material": "PP"},
    "damage": {"type": "crack"},
}


@dataclass
class Running:
    """gunicorn's first process, and what all of them write."""

    process: subprocess.Popen[bytes]
    log: Path

    def said(self, pattern: str) -> list[str]:
        return re.findall(pattern, self.log.read_text())

    def await_(self, pattern: str, times: int = 1) -> list[str]:
        """Waits until the log has it."""
        return until(lambda: (found := self.said(pattern))[times - 1 :] and found, self.log.read_text)

    @property
    def workers(self) -> list[int]:
        """The ids of all processes that answer, or did."""
        return [int(pid) for pid in self.said(r"Booting worker with pid: (\d+)")]

    @property
    def port(self) -> int:
        return int(self.await_(r"Listening at: http://127\.0\.0\.1:(\d+)")[0])

    @property
    def address(self) -> str:
        return f"http://{HOST}:{self.port}"


@contextmanager
def under_gunicorn(folder: Path, rules: str = SMALL_PACK["rules/all.yaml"], **more: str) -> Iterator[Running]:
    log = folder / "gunicorn.log"
    settings = {
        "DATABASE": f"sqlite:///{folder / 'store.sqlite3'}",
        "PACK": str(small_pack(folder / "pack", rules=rules)),
        "OPEN": "yes",
        "LISTEN_PORT": "0",
    }
    environment = environment_with(settings) | more
    with log.open("w") as written:
        process = subprocess.Popen(GUNICORN, stdout=written, stderr=written, env=environment)
    running = Running(process, log)
    try:
        yield running
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


@contextmanager
def paused(pid: int) -> Iterator[None]:
    os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        os.kill(pid, signal.SIGCONT)


def post(address: str) -> requests.Response:
    return requests.post(f"{address}/v1/procedures", json=LINE_ITEM, timeout=PATIENCE_S)
