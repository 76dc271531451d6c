"""What a service that can't work for a time answers: a problem with `Retry-After`; the log tells where."""

from __future__ import annotations

import logging
from copy import deepcopy
from typing import Any

from flask import Response

from api.idempotency.describing import also_refuses
from api.problem_types import ENGINE_WORN_OUT, STORE_NOT_WRITABLE, STORE_UNAVAILABLE, ProblemType
from api.problems import Problem
from api.request_ids import request_id
from api.running.wearing import worn_out
from storage.faults import StoreNotWritable, StoreUnavailable

RETRY_AFTER_S = 10

_WRITING = ("post", "put", "delete")
_HEADERS = {
    "Retry-After": {
        "description": "So many seconds to wait.",
        "schema": {"type": "string", "pattern": "^[0-9]+$"},
    }
}
_log = logging.getLogger("stagewright")


def store_unavailable(error: StoreUnavailable) -> Response:
    """The answer where the database can't be used, or takes no changes."""
    # The message names the database; that is for the log, not for whoever calls.
    _log.error("request %s: %s", request_id(), error)
    if isinstance(error, StoreNotWritable):
        return _later("the database takes no changes; nothing was issued", STORE_NOT_WRITABLE).response()
    return store_away().response()


def store_away() -> Problem:
    """The problem of whoever asks while the database does not answer."""
    return _later("the database does not answer; send the same again", STORE_UNAVAILABLE)


def refuse_worn_out() -> None:
    """Raises Problem where this process can't go on."""
    reason = worn_out()
    if reason is not None:
        _log.error("request %s: %s", request_id(), reason)
        raise _later("this process decides no more; another takes its place", ENGINE_WORN_OUT)


def tell_of_outages(method: str, described: dict[str, Any]) -> None:
    """Write into an operation that works with the database what it may have to wait for."""
    responses = described["responses"]
    if unavailable := responses.get(str(STORE_UNAVAILABLE.status)):
        unavailable["headers"] = deepcopy(_HEADERS)
        if method in _WRITING:
            also_refuses(responses, STORE_NOT_WRITABLE, _HEADERS)


def _later(told: str, kind: ProblemType) -> Problem:
    return Problem(kind, told, headers={"Retry-After": str(RETRY_AFTER_S)})
