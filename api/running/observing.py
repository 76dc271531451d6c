"""What is noted of every request: its method, its route, its status and how long it took."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter

from flask import Flask, Response, g, request

NOWHERE = "(none)"
"""The route of a request for what is not there."""

OTHER = "OTHER"
"""Any method that no view has: callers can think of as many as they like."""

_VARIABLE = re.compile(r"<(?:[^<>]*:)?(\w+)>")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "OPTIONS"})


@dataclass(frozen=True)
class Answered:
    """An answered request. `route` is the template of its path, such as `/v1/procedures/{procedure_id}`."""

    method: str
    route: str
    status: int
    duration_s: float


def observe(app: Flask, *observers: Callable[[Answered], None]) -> None:
    """Tell `observers` of every request, before it leaves the request's context.

    To be called before any other `before_request` and `after_request` of the application, so that the
    whole of it is measured.
    """

    def begin() -> None:
        g.began = perf_counter()

    def end(response: Response) -> Response:
        answered = _answered(response)
        for observer in observers:
            observer(answered)
        return response

    app.before_request(begin)
    app.after_request(end)


def method() -> str:
    """The method of the request under way, or OTHER."""
    return request.method if request.method in _METHODS else OTHER


def route() -> str:
    """The route of the request under way, or NOWHERE."""
    return NOWHERE if request.url_rule is None else _VARIABLE.sub(r"{\1}", request.url_rule.rule)


def _answered(response: Response) -> Answered:
    return Answered(method(), route(), response.status_code, perf_counter() - g.began)
