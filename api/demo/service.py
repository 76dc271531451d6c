"""The service as a process of its own, as an operator would start it."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import requests

from api.demo.faults import DemoFailed
from api.demo.shop_software import new_session

HOST = "127.0.0.1"
READY_WITHIN_S = 60.0
_PORTS_TRIED = 100


@dataclass(frozen=True)
class Service:
    """A started service; `log` is where it writes."""

    process: subprocess.Popen[bytes]
    address: str
    log: Path

    def stop(self) -> None:
        """End the process, gently if it lets us."""
        self.process.terminate()
        try:
            self.process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def free_port(wanted: int) -> int:
    """`wanted`, or the next port above it that nobody listens on. Raises DemoFailed when all are taken."""
    for port in range(wanted, min(wanted + _PORTS_TRIED, 65536)):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
            return port
    raise DemoFailed(f"no port from {wanted} on is free; name another with --port")


def start_service(folder: Path, port: int) -> Service:
    """Start the service on a new database file in `folder`; it outlives this process unless stopped.

    A file that an earlier service left is removed: the rules it holds would prevail over today's.
    """
    folder.mkdir(parents=True, exist_ok=True)
    log = folder / "service.log"
    # Named for the port, so that a service that still runs keeps its own.
    file = folder.resolve() / f"store-{port}.sqlite3"
    for left in filter(Path.is_file, file.parent.glob(f"{file.name}*")):
        left.unlink()
    database = f"sqlite:///{file}"
    # -P: a folder `api` where the demonstration is started must not be taken for ours.
    command = [sys.executable, "-P", "-m", "api.commands", "serve", "--open", "--host", HOST]
    with log.open("wb") as output:
        process = subprocess.Popen(
            [*command, "--port", str(port), "--database", database],
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    return Service(process, f"http://{HOST}:{port}", log)


def wait_until_ready(service: Service, within_s: float = READY_WITHIN_S) -> None:
    """Returns when `/readyz` says so. Raises DemoFailed when the process ends or time is up."""
    deadline = time.monotonic() + within_s
    with new_session() as session:
        while time.monotonic() < deadline:
            if service.process.poll() is not None:
                raise DemoFailed(f"the service ended at once; it said:\n{_end_of(service.log)}")
            if _is_ready(session, service.address):
                return
            time.sleep(0.1)
    raise DemoFailed(f"the service was not ready within {within_s:.0f} s; it said:\n{_end_of(service.log)}")


def _is_ready(session: requests.Session, address: str) -> bool:
    try:
        return session.get(f"{address}/readyz", timeout=5).status_code == 200
    except requests.RequestException:
        return False


def _end_of(log: Path) -> str:
    return "\n".join(log.read_text(encoding="utf-8", errors="replace").splitlines()[-12:])
