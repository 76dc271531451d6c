"""What is still served and will go away: declared here, told in every answer and in the OpenAPI document.

An answer of a deprecated operation carries `Deprecation` (RFC 9745), a `Link` to the page that says what
to call instead, and, once the day is known, `Sunset` (RFC 8594).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from flask import Flask, Response, request
from werkzeug.http import http_date


@dataclass(frozen=True)
class Deprecation:
    """`since` when an operation is deprecated, from `sunset` on it may be gone; both with their offset.

    `page` is the address of a page about it. Raises ValueError for a sunset before `since`.
    """

    since: datetime
    page: str
    sunset: datetime | None = None

    def __post_init__(self) -> None:
        if self.sunset is not None and self.sunset < self.since:
            raise ValueError(
                f"the sunset {self.sunset} is before the deprecation {self.since}; set a later one"
            )

    def headers(self) -> list[tuple[str, str]]:
        """What an answer says about it."""
        told = [
            ("Deprecation", f"@{int(self.since.timestamp())}"),
            ("Link", f'<{self.page}>; rel="deprecation"; type="text/html"'),
        ]
        return told if self.sunset is None else [*told, ("Sunset", http_date(self.sunset))]

    def in_words(self) -> str:
        """What the OpenAPI document says about it."""
        end = "" if self.sunset is None else f"; it may be gone from {self.sunset.date()} on"
        return f"Deprecated since {self.since.date()}{end}. What to call instead: {self.page}"


Deprecations = Mapping[str, Deprecation]
"""By `operationId`."""

DEPRECATED: Deprecations = {}
"""Every operation that is deprecated. An operation stays for at least a year after it was entered here."""


def announce(app: Flask, deprecated: Deprecations = DEPRECATED) -> None:
    """Let every answer of a deprecated operation say so, refusals too."""

    def tell(response: Response) -> Response:
        found = deprecated.get((request.endpoint or "").rpartition(".")[2])
        for name, value in found.headers() if found else ():
            response.headers.add(name, value)
        return response

    app.after_request(tell)


def mark(operation: dict[str, Any], deprecated: Deprecations = DEPRECATED) -> None:
    """Mark an operation of the OpenAPI document, where it is deprecated."""
    found = deprecated.get(operation["operationId"])
    if found is not None:
        operation["deprecated"] = True
        about = operation.get("description", "")
        operation["description"] = f"{found.in_words()}\n\n{about}".rstrip()
