"""What can come between a client and its answer: each fault makes the response to one request."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from flask import Response

from api.answers import JSON
from api.conformance.exchange import Exchange
from api.problem_types import ProblemType
from api.problems import MEDIA_TYPE, Problem

Ask = Callable[[], Response]
"""Lets the service itself answer."""

Fault = Callable[[Exchange, Ask], Response]

_TOLD = "this is a part of the check of a client"


def as_it_is(_exchange: Exchange, ask: Ask) -> Response:
    """No fault at all."""
    return ask()


def nothing(_exchange: Exchange, _ask: Ask) -> Response:
    """An answer without anything in it."""
    return Response("{}", 200, content_type=JSON)


def lost(exchange: Exchange, ask: Ask) -> Response:
    """The work is done, and the connection breaks off before a word of the answer."""
    response = ask()
    exchange.cut()
    return response


def problem(kind: ProblemType, retry_after_s: int | None = None) -> Fault:
    """Nothing is done; the answer is a problem."""
    headers = None if retry_after_s is None else {"Retry-After": str(retry_after_s)}
    return lambda _exchange, _ask: Problem(kind, _TOLD, headers=headers).response()


def unknown_problem(_exchange: Exchange, _ask: Ask) -> Response:
    """A refusal of a kind, and with members, that there are not yet."""
    document = {
        "type": UNKNOWN_TYPE,
        "title": "Something that this version does not know",
        "status": 422,
        "detail": _TOLD,
        "since": {"version": "9.9"},
    }
    return Response(json.dumps(document), 422, content_type=MEDIA_TYPE)


UNKNOWN_TYPE = "/problems/of-a-later-version"


def redirect(to: str) -> Fault:
    """The same request is to be made at another address."""
    return lambda _exchange, _ask: Response(status=308, headers={"Location": to})


def held(at_most_s: float) -> Fault:
    """Nothing is said for a while; then the answer comes, if the request was not sent again meanwhile."""

    def hold(exchange: Exchange, ask: Ask) -> Response:
        return nothing(exchange, ask) if exchange.again.wait(at_most_s) else ask()

    return hold


def changed(change: Callable[[dict[str, Any]], Mapping[str, Any]]) -> Fault:
    """What was created is told otherwise."""

    def answer(_exchange: Exchange, ask: Ask) -> Response:
        response = ask()
        if response.status_code == 201:
            response.set_data(json.dumps(change(json.loads(response.get_data()))))
        return response

    return answer
