"""The service in processes of its own, as it is run in earnest, on 127.0.0.1 and any free port."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep

from endurance.calling import Caller, Lost

SERVE = (sys.executable, "-m", "api.commands", "serve")
GUNICORN = (sys.executable, "-m", "gunicorn", "--config", "python:api.running.gunicorn_config")

PATIENCE_S = 60.0
"""So long a service may take to answer, and to end."""

_LISTENS = re.compile(r"(?:answers at|Listening at:) http://127\.0\.0\.1:(\d+)")


def environment_with(settings: Mapping[str, str]) -> dict[str, str]:
    """The environment with these settings, named without `STAGEWRIGHT_`, and no others of a service."""
    others = {name: text for name, text in os.environ.items() if not name.startswith("STAGEWRIGHT_")}
    return others | {f"STAGEWRIGHT_{name}": text for name, text in settings.items()}


class Service:
    """A service under way. `log` is what all its processes write; they form a process group."""

    def __init__(self, command: Sequence[str], log: Path, settings: dict[str, str]) -> None:
        """`settings` are those of `environment_with`."""
        environment = environment_with(settings)
        # What a process that is killed leaves behind goes with the folder.
        environment["TMPDIR"] = str(log.parent)
        self.log = log
        with log.open("w") as written:
            self.process = subprocess.Popen(
                command, stdout=written, stderr=written, env=environment, start_new_session=True
            )
        self.port = int(self._await(_LISTENS))

    def processes(self) -> list[int]:
        """The first process and those it has started, by their ids."""
        first = self.process.pid
        children = Path(f"/proc/{first}/task/{first}/children").read_text()
        return [first, *map(int, children.split())]

    def await_ready(self) -> None:
        """Returns when the service says that line items are served."""
        caller, deadline = Caller(self.port), monotonic() + PATIENCE_S
        while monotonic() < deadline:
            try:
                if caller.get("/readyz").status == 200:
                    return
            except Lost:
                pass
            self._look()
            sleep(0.05)
        raise RuntimeError(f"the service was not ready within {PATIENCE_S:g} s:\n{self.log.read_text()}")

    def kill(self) -> None:
        """End all its processes in the midst of what they do. May be repeated."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(PATIENCE_S)

    def stop(self) -> int:
        """Let it end; its exit code."""
        self.process.terminate()
        return self.process.wait(PATIENCE_S)

    def _await(self, pattern: re.Pattern[str]) -> str:
        deadline = monotonic() + PATIENCE_S
        while monotonic() < deadline:
            if found := pattern.search(self.log.read_text()):
                return found[1]
            self._look()
            sleep(0.05)
        raise RuntimeError(f"the service did not listen within {PATIENCE_S:g} s:\n{self.log.read_text()}")

    def _look(self) -> None:
        if self.process.poll() is not None:
            raise RuntimeError(f"the service ended by itself:\n{self.log.read_text()}")


def start(command: Sequence[str], folder: Path, database: str, **settings: str) -> Service:
    """A service that is ready, and asks nobody for a key unless told so."""
    settings = {"DATABASE": database, "OPEN": "yes", "LISTEN_PORT": "0", **settings}
    service = Service(command, folder / "service.log", settings)
    try:
        service.await_ready()
    except BaseException:
        service.kill()
        raise
    return service


@contextmanager
def running(command: Sequence[str], folder: Path, database: str, **settings: str) -> Iterator[Service]:
    """The same, killed at the end where it still runs."""
    service = start(command, folder, database, **settings)
    try:
        yield service
    finally:
        service.kill()
