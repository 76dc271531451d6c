"""A caller: one connection that is kept, no retries, and nothing read into what comes back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from urllib3 import HTTPConnectionPool
from urllib3.exceptions import HTTPError

HOST = "127.0.0.1"
PATIENCE_S = 60.0

Json = dict[str, Any]


class Lost(Exception):
    """No answer came, or only a part of one: what became of the request is not known."""


@dataclass(frozen=True)
class Answer:
    """An answer, read to its end."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    def json(self) -> Json:
        document: Json = json.loads(self.body)
        return document

    @property
    def replayed(self) -> bool:
        return self.headers.get("Idempotency-Replayed") == "true"


class Caller:
    """Sends requests one after another; not to be shared between threads. Every method raises Lost."""

    def __init__(self, port: int, headers: Mapping[str, str] | None = None) -> None:
        self._pool = HTTPConnectionPool(HOST, port, timeout=PATIENCE_S, headers=dict(headers or {}))

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> Answer:
        return self.send("GET", path, headers=headers)

    def post(self, path: str, body: Any, key: str | None = None) -> Answer:
        return self.send("POST", path, json.dumps(body).encode(), key)

    def send(
        self,
        method: str,
        path: str,
        body: bytes | None = None,
        key: str | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        headers = {**self._pool.headers, **(headers or {})}
        if body is not None:
            headers["Content-Type"] = "application/json"
        if key is not None:
            headers["Idempotency-Key"] = f'"{key}"'
        try:
            response = self._pool.urlopen(method, path, body, headers, retries=False)
        except (HTTPError, OSError) as error:
            raise Lost(str(error)) from error
        return Answer(response.status, response.headers, response.data)
