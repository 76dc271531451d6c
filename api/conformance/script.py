"""The service as the client sees it: what the script of a scene says, else the service itself."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from io import BytesIO
from threading import Lock
from time import monotonic
from typing import TYPE_CHECKING, Any

from flask import Flask, Request, Response

from api.conformance.exchange import Exchange, exchange_of, json_in
from api.conformance.faults import Fault, as_it_is, nothing
from api.idempotency.keys import key_in_header
from api.problems import Problem

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

ELSEWHERE = "/elsewhere"
"""Before a path: another address of the same service."""

ENOUGH = 12
"""So many requests a scene has; who then still repeats itself is answered with what it can't use."""


class Scene:
    """Requests that speak of one of some names, in the order they came, and what they are answered with.

    After the last fault the service itself answers.
    """

    def __init__(self, names: Iterable[str], faults: Iterable[Fault]) -> None:
        self.names = set(names)
        self.seen: list[Exchange] = []
        self._faults = iter(tuple(faults))

    def play(self, exchange: Exchange) -> Fault:
        """Note a request; the fault that it meets."""
        self.end()
        self.seen.append(exchange)
        return next(self._faults, as_it_is if len(self.seen) < ENOUGH else nothing)

    def end(self) -> None:
        """Let no request before wait for another one."""
        for exchange in self.seen:
            exchange.again.set()

    def concerns(self, exchange: Exchange) -> bool:
        """Whether a request is a part of it."""
        return any(exchange.speaks_of(name) for name in self.names)


class Stage:
    """A WSGI application before that of the service.

    Whatever key a client sends, the service itself is asked with the right one, and idempotency keys are told
    apart by what is asked for: so that one fault of a client is not seen as many. `seen` is every request.
    """

    def __init__(self, app: Flask, key: str) -> None:
        self.seen: list[Exchange] = []
        self._app = app
        self._key = key
        self._scene: Scene | None = None
        self._lock = Lock()

    @contextmanager
    def scene(self, *names: str, faults: Iterable[Fault] = ()) -> Iterator[Scene]:
        """While it lasts, requests that speak of one of the names are a part of it."""
        scene = Scene(names, faults)
        with self._lock:
            self._scene = scene
        try:
            yield scene
        finally:
            scene.end()
            with self._lock:
                self._scene = None

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        came_s, request = monotonic(), Request(environ)
        exchange = exchange_of(request, came_s, _cutter(environ))
        with self._lock:
            self.seen.append(exchange)
            scene = self._scene
            fault = scene.play(exchange) if scene is not None and scene.concerns(exchange) else as_it_is
        response = fault(exchange, lambda: self._answer(environ, exchange))
        exchange.answer, exchange.answered_s = json_in(response.get_data()), monotonic()
        return response(environ, start_response)

    def _answer(self, environ: WSGIEnvironment, exchange: Exchange) -> Response:
        asked: dict[str, Any] = {
            **environ,
            "wsgi.input": BytesIO(exchange.body),
            "PATH_INFO": exchange.path.removeprefix(ELSEWHERE),
            "REQUEST_URI": exchange.path.removeprefix(ELSEWHERE),
            "HTTP_AUTHORIZATION": f"Bearer {self._key}",
        }
        if exchange.method == "GET" and exchange.path == "/v1/procedures":
            asked["QUERY_STRING"] = _one_a_page(exchange.query)
        if exchange.key is not None:
            with suppress(Problem):
                told_apart = key_in_header(exchange.key).encode() + exchange.body
                asked["HTTP_IDEMPOTENCY_KEY"] = f'"{sha256(told_apart).hexdigest()}"'
        answered: Response = Response.from_app(self._app, asked, buffered=True)  # type: ignore[assignment]  # by Flask
        return answered


def _one_a_page(query: str) -> str:
    """The query of a list, with the smallest pages that there are."""
    kept = [each for each in query.split("&") if each and not each.startswith("limit=")]
    return "&".join([*kept, "limit=1"])


def _cutter(environ: WSGIEnvironment) -> Callable[[], None]:
    """What breaks a connection off; `werkzeug.socket` is where its server puts it."""
    connection: socket.socket = environ["werkzeug.socket"]

    def cut() -> None:
        with suppress(OSError):
            connection.shutdown(socket.SHUT_RDWR)

    return cut
