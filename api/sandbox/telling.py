"""Every answer to a key of a sandbox says so, whatever comes of the request."""

from __future__ import annotations

from flask import Flask, Response, g

from api.keys.checking import caller
from storage.sandboxes import is_sandbox

HEADER = "Stagewright-Sandbox"


def tell_of_sandboxes(app: Flask) -> None:
    """Let every answer of `app` that comes from a sandbox carry the header."""
    app.after_request(_tell)


def in_sandbox() -> bool:
    """Whether this request is made for a sandbox; False where it is nobody's."""
    return "caller" in g and is_sandbox(caller().shop)


def _tell(response: Response) -> Response:
    if in_sandbox():
        response.headers[HEADER] = "true"
    return response
