"""A PostgreSQL server of our own, which may be stopped and killed; that of others may not."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4

HOST = "127.0.0.1"
WITHIN_S = 60
PROGRAMS = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name))
"""Where Debian keeps them, beside the PATH; the newest version last."""

OWNERS = ("postgres", "nobody")
"""The server refuses to run as root; then it runs as the first of these that there is."""


class NoServer(Exception):
    """PostgreSQL is not installed here."""


class Server:
    """A server under way, whose databases anybody on this machine may use."""

    def __init__(self, folder: Path) -> None:
        """Its data will be in `folder`. Raises NoServer."""
        self._programs = _programs()
        self._data, self._log = folder / "data", folder / "server.log"
        self._owner = _owner()
        if self._owner:
            shutil.chown(folder, self._owner)
        self.port = free_port()
        self._run("initdb", "--no-sync", "--auth=trust", "--username=postgres", f"--pgdata={self._data}")
        self._options = f"-p {self.port} -k {folder} -c listen_addresses={HOST}"
        self.start()

    def new_database(self) -> str:
        """The URL of a database with nothing in it."""
        name = f"stagewright_{uuid4().hex[:12]}"
        self._run("createdb", f"--host={HOST}", f"--port={self.port}", "--username=postgres", name)
        return f"postgresql+psycopg://postgres@{HOST}:{self.port}/{name}"

    def start(self) -> None:
        self._control("start", "-l", str(self._log), "-o", self._options)

    def stop(self) -> None:
        """In order: whoever is connected is thrown out, and what was committed is written."""
        self._control("stop", "-m", "fast")

    def crash_and_start(self) -> None:
        """Its processes end at once, and it recovers from its log."""
        self._control("restart", "-m", "immediate")

    def end(self) -> None:
        """At once; it is not started again."""
        self._control("stop", "-m", "immediate")

    def process(self) -> int:
        """The id of its first process."""
        return int((self._data / "postmaster.pid").read_text().splitlines()[0])

    def _control(self, *arguments: str) -> None:
        self._run("pg_ctl", f"--pgdata={self._data}", "--wait", f"--timeout={WITHIN_S}", *arguments)

    def _run(self, program: str, *arguments: str) -> None:
        told = subprocess.run(
            [self._programs / program, *arguments],
            user=self._owner,
            cwd="/",
            stdin=subprocess.DEVNULL,
            # A server that is started keeps what it inherits; a pipe would never end.
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=2 * WITHIN_S,
            check=False,
        )
        if told.returncode:
            log = self._log.read_text() if self._log.exists() else ""
            raise RuntimeError(f"{program} {' '.join(arguments)} ended with {told.returncode}:\n{log}")


@contextmanager
def server() -> Iterator[Server]:
    """A server that ends with the block, and is gone then. Raises NoServer."""
    # Not within a folder of somebody's: the server may be another user.
    with TemporaryDirectory(prefix="stagewright-postgresql-") as folder:
        own = Server(Path(folder))
        try:
            yield own
        finally:
            own.end()


def _programs() -> Path:
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    if not PROGRAMS:
        raise NoServer("needs the programs of a PostgreSQL server: initdb and pg_ctl")
    return PROGRAMS[-1]


def _owner() -> str | None:
    if os.getuid():
        return None
    there = {each.pw_name for each in pwd.getpwall()}
    return next(name for name in OWNERS if name in there)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.create_server((HOST, 0)) as taken:
        port: int = taken.getsockname()[1]
        return port
