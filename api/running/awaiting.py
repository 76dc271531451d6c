"""What answers for a process whose database is away when it begins, until it is there."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from threading import Thread
from time import sleep
from typing import Any
from uuid import uuid4

from flask import Flask, Response

from api.headers import add_security_headers
from api.outages import store_away
from api.request_ids import HEADER as REQUEST_ID
from storage.faults import StoreUnavailable

AGAIN_AFTER_S = 1.0

_log = logging.getLogger("stagewright")


class Awaiting:
    """The application that `start` makes, once it can; until then it raises StoreUnavailable."""

    def __init__(self, start: Callable[[], Flask]) -> None:
        self._start = start
        self._app: Flask | None = None
        try:
            self._app = start()
        except StoreUnavailable as error:
            _log.error("nothing is served until the database answers: %s", error)
            Thread(target=self._await_database, name="waiting for the database", daemon=True).start()

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        answer = self._app or (_alive() if environ["PATH_INFO"] == "/livez" else _away())
        return answer(environ, start_response)

    def _await_database(self) -> None:
        while self._app is None:
            sleep(AGAIN_AFTER_S)
            try:
                self._app = self._start()
            except StoreUnavailable:
                continue
            except BaseException:
                _log.exception("the service is not started")
                raise


def _alive() -> Response:
    return _as_answered(Response('{"status": "alive"}', content_type="application/json"))


def _away() -> Response:
    return _as_answered(store_away().response())


def _as_answered(response: Response) -> Response:
    response.headers[REQUEST_ID] = uuid4().hex
    return add_security_headers(response)
