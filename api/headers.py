"""Headers that every response carries."""

from __future__ import annotations

from flask import Response

POLICY = "Content-Security-Policy"

_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    POLICY: "default-src 'none'; frame-ancestors 'none'",
}


def add_security_headers(response: Response) -> Response:
    """Tell browsers to load nothing and to guess nothing; a page that needs more says so itself."""
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    return response
