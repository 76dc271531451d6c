"""How a process under gunicorn answers: by the same server as `stagewright serve`."""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Any

from gunicorn.errors import ConfigError
from gunicorn.workers.base import Worker

from api.running.environment import settings_from
from api.running.http_server import HttpServer


class BufferingWorker(Worker):  # type: ignore[misc]
    """gunicorn's own read from callers in the threads that answer, so a few slow ones hold up all others."""

    alive: bool
    server: HttpServer | None = None

    @classmethod
    def check_config(cls, cfg: Any, _log: Any) -> None:
        """Raises ConfigError for TLS, which this server does not speak: it would answer in the clear."""
        if cfg.is_ssl:
            raise ConfigError("TLS is spoken by a proxy before the service; leave out keyfile and certfile")

    def run(self) -> None:
        """Answer until told to end, or until as many requests were answered as a process may."""
        sockets = [listener.sock for listener in self.sockets]
        self.server = server = HttpServer(self._answer, sockets, settings_from(os.environ))
        server.run(lambda: self._look(server), self.cfg.graceful_timeout)

    def handle_exit(self, sig: int, frame: object) -> None:
        """SIGTERM."""
        super().handle_exit(sig, frame)
        if self.server is not None:
            self.server.stop()

    def _look(self, server: HttpServer) -> None:
        self.notify()
        if self.alive and self.nr >= self.max_requests:
            self.log.info("after %d requests another process takes the place of this one", self.nr)
            self.alive = False
        if not self.alive or os.getppid() != self.ppid:
            server.stop()

    def _answer(self, environ: Any, start_response: Any) -> Iterable[bytes]:
        self.nr += 1
        answer: Iterable[bytes] = self.wsgi(environ, start_response)
        return answer
