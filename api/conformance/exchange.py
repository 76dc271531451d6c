"""One request of the client, as it came, and the moment at which it was answered."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from threading import Event
from typing import Any
from urllib.parse import unquote_plus

from flask import Request


@dataclass
class Exchange:
    """`came_s` and `answered_s` are of a monotonic clock. `cut` breaks its connection off.

    `again` is set when another request of the same scene comes. `document` is its JSON body, `answer` what
    it was answered; None where that is no JSON.
    """

    came_s: float
    method: str
    path: str
    query: str
    headers: Mapping[str, str]
    body: bytes
    cut: Callable[[], None] = field(repr=False)
    again: Event = field(default_factory=Event, repr=False)
    answered_s: float | None = None
    answer: Any = None

    @property
    def key(self) -> str | None:
        """The `Idempotency-Key`, as it was sent."""
        return self.headers.get("Idempotency-Key")

    @property
    def document(self) -> Any:
        return json_in(self.body)

    @property
    def issued(self) -> bool:
        """Whether it was answered with a procedure that has work in it."""
        return isinstance(self.answer, dict) and bool(self.answer.get("stages"))

    def speaks_of(self, name: str) -> bool:
        """Whether a name is in its address or body."""
        return name in f"{self.path} {unquote_plus(self.query)} {self.body.decode(errors='replace')}"


def json_in(text: bytes) -> Any:
    """None where it is no JSON."""
    try:
        return json.loads(text)
    except ValueError:
        return None


def exchange_of(request: Request, came_s: float, cut: Callable[[], None]) -> Exchange:
    """From a request that is not read yet."""
    headers = dict(request.headers)
    query = request.query_string.decode("latin-1")
    return Exchange(came_s, request.method, request.path, query, headers, request.get_data(), cut)
