"""`X-Request-Id`: names a request in the logs of both sides."""

from __future__ import annotations

import re
from uuid import uuid4

from flask import Response, g, request

HEADER = "X-Request-Id"

SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._~:+/=@-]{0,99}")
"""An id that can be written into a log and a header as it is; any other is replaced by one of our own."""


def request_id() -> str:
    """The id of this request: what the caller sent, where that is safe, else a new one."""
    if "request_id" not in g:
        sent = request.headers.get(HEADER, "")
        g.request_id = sent if SAFE.fullmatch(sent) else uuid4().hex
    named: str = g.request_id
    return named


def add_request_id(response: Response) -> Response:
    """Tell the caller by which id the log speaks of the request."""
    response.headers[HEADER] = request_id()
    return response
