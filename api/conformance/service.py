"""The service for the kit: the application itself on a database of its own, and a stranger beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread
from typing import TYPE_CHECKING

from flask import Flask, Request, Response
from werkzeug.serving import WSGIRequestHandler, make_server

from api.application import create_app
from api.conformance.script import Stage
from api.problem_types import NOT_FOUND
from api.problems import Problem
from api.settings import Settings
from api.snapshot import in_use
from storage.key_records import LINE_ITEMS
from storage.shops import LOCAL

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

ORIGIN = "conformance kit"


@dataclass
class Stranger:
    """Another server, to which the client is led. `told` is all that was sent to it."""

    told: list[str] = field(default_factory=list)

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        request = Request(environ)
        self.told.append(f"{request.headers} {request.url} {request.get_data(as_text=True)}")
        response: Response = Problem(NOT_FOUND, "there is nothing here").response()
        return response(environ, start_response)


@dataclass(frozen=True)
class Service:
    """The application, and a key of its sandbox."""

    app: Flask
    key: str


@dataclass(frozen=True)
class Played:
    """A service on its stage: where it is, and where the stranger is."""

    stage: Stage
    stranger: Stranger
    address: str
    strange_address: str
    key: str


@contextmanager
def service_of_its_own() -> Iterator[Service]:
    """A service on a new database, which is gone afterwards. Raises what `create_app` does."""
    with TemporaryDirectory(prefix="stagewright-conformance-") as folder:
        app = create_app(Settings(database_url=f"sqlite:///{Path(folder) / 'store.sqlite3'}"))
        store = in_use(app).store
        try:
            key = store.keys.create(LOCAL, "conformance", [LINE_ITEMS], ORIGIN, sandbox=True)
            yield Service(app, key.text)
        finally:
            store.close()


@contextmanager
def on_stage(service: Service, host: str, port: int) -> Iterator[Played]:
    """Serve it, and the stranger on any free port. Raises OSError where the port is taken."""
    stage, stranger = Stage(service.app, service.key), Stranger()
    with _serving(stage, host, port) as address, _serving(stranger, host, 0) as strange_address:
        yield Played(stage, stranger, address, strange_address, service.key)


@contextmanager
def _serving(app: WSGIApplication, host: str, port: int) -> Iterator[str]:
    server = make_server(host, port, app, threaded=True, request_handler=_Silent)
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield f"http://{host}:{server.port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


class _Silent(WSGIRequestHandler):
    """Writes no line for every request."""

    def log(self, type: str, message: str, *args: object) -> None:
        pass
