"""An endpoint of our own on 127.0.0.1, which answers as a test wants it to, rightly or wrongly."""

from __future__ import annotations

import json
import shutil
import socket
import ssl
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from ipaddress import ip_network
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

LOOPBACK = (ip_network("127.0.0.0/8"), ip_network("::1/128"))
PATIENCE_S = 20.0

Behaviour = Callable[[socket.socket], None]


@dataclass(frozen=True)
class Received:
    """A request, as it came."""

    line: str
    headers: dict[str, str]
    body: bytes

    @property
    def event_id(self) -> str:
        return self.headers["webhook-id"]

    def json(self) -> Any:
        return json.loads(self.body)


def answering(status: int, *headers: str, body: bytes = b"") -> Behaviour:
    """One whole answer."""
    head = [f"HTTP/1.1 {status} whatever", f"Content-Length: {len(body)}", *headers, "", ""]
    return lambda connection: connection.sendall("\r\n".join(head).encode() + body)


@dataclass
class Receiver:
    """Answers every request by `behaviour`; `requests` are those that came whole."""

    listening: socket.socket
    behaviour: Behaviour
    context: ssl.SSLContext | None = None
    requests: list[Received] = field(default_factory=list)
    connections: int = 0
    over: Event = field(default_factory=Event)

    @property
    def port(self) -> int:
        port: int = self.listening.getsockname()[1]
        return port

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/events"

    def run(self) -> None:
        while True:
            try:
                connection, _ = self.listening.accept()
            except OSError:
                return
            self.connections += 1
            Thread(target=self._serve, args=(connection,), daemon=True).start()

    def _serve(self, connection: socket.socket) -> None:
        connection.settimeout(PATIENCE_S)
        # Whoever sends may hang up at any time.
        with suppress(OSError), connection:
            if self.context is not None:
                connection = self.context.wrap_socket(connection, server_side=True)
            request = _read(connection)
            if request is not None:
                self.requests.append(request)
                self.behaviour(connection)
            with suppress(OSError):
                connection.shutdown(socket.SHUT_WR)
            connection.close()


def _read(connection: socket.socket) -> Received | None:
    data = b""
    while b"\r\n\r\n" not in data:
        more = connection.recv(65_536)
        if not more:
            return None
        data += more
    head, _, body = data.partition(b"\r\n\r\n")
    line, *rest = head.decode().split("\r\n")
    headers = {name.lower(): value.strip() for name, _, value in (each.partition(":") for each in rest)}
    while len(body) < int(headers.get("content-length", 0)):
        body += connection.recv(65_536)
    return Received(line, headers, body)


@contextmanager
def receiving(
    behaviour: Behaviour | None = None, context: ssl.SSLContext | None = None
) -> Iterator[Receiver]:
    """A receiver that listens."""
    receiver = Receiver(socket.create_server(("127.0.0.1", 0)), behaviour or answering(204), context)
    Thread(target=receiver.run, daemon=True).start()
    try:
        yield receiver
    finally:
        receiver.over.set()
        receiver.listening.shutdown(socket.SHUT_RDWR)
        receiver.listening.close()


@pytest.fixture
def endpoint() -> Iterator[Receiver]:
    """A receiver that takes everything, until it is told otherwise."""
    with receiving() as receiver:
        yield receiver


def certificate(folder: Path, name: str) -> Path:
    """A file with a certificate for a name, signed by itself, and its key."""
    if shutil.which("openssl") is None:
        pytest.skip("needs the program openssl, which makes certificates")
    made = folder / f"{name}.pem"
    command = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "ec",
        "-pkeyopt",
        "ec_paramgen_curve:prime256v1",
        "-nodes",
    ]
    command += ["-days", "2", "-subj", f"/CN={name}", "-addext", f"subjectAltName=DNS:{name}"]
    command += ["-keyout", str(folder / f"{name}.key"), "-out", str(made)]
    subprocess.run(command, check=True, capture_output=True)
    made.write_bytes(made.read_bytes() + (folder / f"{name}.key").read_bytes())
    return made


def speaking_tls(certificate_file: Path) -> ssl.SSLContext:
    """The server's side of TLS with a certificate."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate_file)
    return context


@dataclass
class Names:
    """Names that lead where a test wants; every look-up is remembered."""

    leads: dict[str, list[list[str]]] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)

    def lead(self, name: str, *answers: list[str]) -> None:
        """The first look-up gets the first answer, and so on; the last one stays."""
        self.leads[name] = list(answers)


@pytest.fixture
def names(monkeypatch: pytest.MonkeyPatch) -> Names:
    """No name is looked up on the net; those that are not led anywhere do not resolve."""
    found, real = Names(), socket.getaddrinfo

    def look_up(host: Any, port: Any, *args: Any, **options: Any) -> Any:
        with suppress(ValueError):
            ip_network(str(host).partition("%")[0])
            return real(host, port, *args, **options)
        found.asked.append(str(host))
        answers = found.leads.get(str(host))
        if not answers:
            raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")
        addresses = answers.pop(0) if len(answers) > 1 else answers[0]
        return [entry for each in addresses for entry in real(each, port, *args, **options)]

    monkeypatch.setattr(socket, "getaddrinfo", look_up)
    return found
