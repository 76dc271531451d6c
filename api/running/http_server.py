"""The HTTP server of one process.

It takes a request up when all of it is there, so that callers who send slowly, or never on, hold up no
thread; and it ends in order: what was received whole is answered first.
"""

from __future__ import annotations

import resource
import signal
import socket
from collections.abc import Callable, Sequence
from time import monotonic
from typing import Any

import waitress
from waitress import wasyncore
from waitress.server import BaseWSGIServer

from api.running.strict_reading import Channel
from api.settings import Settings

MOST_HEADER_BYTES = 65_536
MOST_CONNECTIONS = 1000
"""Fewer where the process may not open twice as many files."""

SILENT_FOR_S = 30
"""After so long without a byte a connection is closed on which nothing is at work."""

LOOK_EVERY_S = 0.5
LINGER_S = 2.0
"""So long connections stay open when the server ends, for requests that are on their way."""

ENDING_WITHIN_S = 130.0
"""Longer than any request takes but a proof, which has 120 s."""


class HttpServer:
    """Listens on `sockets` from the moment it is made; answers while `run` does."""

    def __init__(self, app: Callable[..., Any], sockets: Sequence[socket.socket], settings: Settings) -> None:
        self._map: dict[int, Any] = {}
        self._code: int | None = None
        waitress.create_server(
            app,
            map=self._map,
            sockets=list(sockets),
            threads=settings.threads,
            # Far above what the application refuses with a problem document; this bounds what is buffered.
            max_request_body_size=2
            * max(settings.max_pack_bytes, settings.max_batch_bytes, settings.max_body_bytes),
            max_request_header_size=MOST_HEADER_BYTES,
            connection_limit=min(MOST_CONNECTIONS, resource.getrlimit(resource.RLIMIT_NOFILE)[0] // 2),
            channel_timeout=SILENT_FOR_S,
            cleanup_interval=SILENT_FOR_S // 3,
        )
        self._servers = [each for each in self._map.values() if isinstance(each, BaseWSGIServer)]
        for server in self._servers:
            server.channel_class = Channel

    @property
    def address(self) -> str:
        """Where it is reached, as the beginning of a URL."""
        host, port = self._servers[0].effective_host, self._servers[0].effective_port
        return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"

    def stop(self, code: int = 0) -> None:
        """Let `run` end, and return `code`. May be called by a signal and by any thread."""
        if self._code is None:
            self._code = code
        self._servers[0].pull_trigger()

    def run(
        self, each_turn: Callable[[], object] = lambda: None, ending_within_s: float = ENDING_WITHIN_S
    ) -> int:
        """Answer until it is stopped, then what is under way; `each_turn` is called again and again."""
        while self._code is None:
            each_turn()
            self._turn()
        for server in self._servers:
            server.ending = True
            # The listening socket alone: the channels are still served.
            wasyncore.dispatcher.close(server)
        began_s = monotonic()
        while (passed_s := monotonic() - began_s) < ending_within_s and self._is_wanted(passed_s < LINGER_S):
            each_turn()
            self._turn()
        self._servers[0].task_dispatcher.shutdown(timeout=1)
        wasyncore.close_all(self._map)
        return self._code

    def _turn(self) -> None:
        wasyncore.loop(LOOK_EVERY_S, use_poll=True, map=self._map, count=1)

    def _is_wanted(self, lingering: bool) -> bool:
        """Whether somebody is served, or, while lingering, may have sent a request that was not read yet."""
        channels = [channel for server in self._servers for channel in server.active_channels.values()]
        return any(lingering or channel.under_way for channel in channels)


def end_by_signal(server: HttpServer) -> None:
    """Let SIGTERM and an interrupt from the keyboard end a server; a second one ends the process at once."""

    def end(which: int, _frame: object) -> None:
        signal.signal(which, signal.SIG_DFL)
        server.stop()

    for which in (signal.SIGTERM, signal.SIGINT):
        signal.signal(which, end)
