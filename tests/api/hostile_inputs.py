"""What a hostile or broken caller sends, each with the statuses that are right for it.

The tables lie in `hostile_bodies`, `hostile_addresses`, `hostile_webhooks` and `hostile_wire`; a row is a
name, what is sent and what is expected. `None` among the statuses: the connection may end without an answer.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from schemas.examples import MINIMAL

Statuses = tuple[int | None, ...]

PROCEDURES = "/v1/procedures"
RIGHT = json.dumps(MINIMAL).encode()
JSON_TYPE = "application/json"


@dataclass(frozen=True)
class Hostile:
    """One hostile input: the bytes of the request, piece by piece, and the statuses that are right."""

    name: str
    pieces: tuple[bytes, ...]
    statuses: Statuses
    method: str = "GET"


def message(
    method: str = "GET",
    target: str | bytes = "/livez",
    headers: Mapping[str, str] | Iterable[tuple[str, str]] = (),
    body: bytes | None = None,
) -> bytes:
    """A request as it goes over the wire; the connection ends with its answer. The body has its length."""
    pairs = list(headers.items()) if isinstance(headers, Mapping) else list(headers)
    lines = [("Host", "127.0.0.1"), ("Connection", "close"), *pairs]
    if body is not None:
        lines.append(("Content-Length", str(len(body))))
    address = target if isinstance(target, bytes) else target.encode()
    start = method.encode() + b" " + address + b" HTTP/1.1\r\n"
    head = "".join(f"{name}: {value}\r\n" for name, value in lines).encode("latin-1")
    return start + head + b"\r\n" + (body or b"")


def posted(body: bytes, content_type: str | None = JSON_TYPE, **headers: str) -> bytes:
    """A line item sent to be issued; `headers` by name, with `_` for `-`."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    typed = {} if content_type is None else {"Content-Type": content_type}
    return message("POST", PROCEDURES, typed | named, body)
