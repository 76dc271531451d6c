"""`Idempotency-Key` in the OpenAPI document."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from api.idempotency.asking import REPLAYED
from api.idempotency.keys import FORM, HEADER, LONGEST, WRITTEN
from api.problem_types import (
    IDEMPOTENCY_KEY_REFUSED,
    IDEMPOTENCY_KEY_REUSED,
    IDEMPOTENCY_KEY_RUNNING,
    ProblemType,
)
from api.problems import MEDIA_TYPE
from storage.idempotency import LIFETIME

Json = dict[str, Any]

REPEATABLE = "repeatable"
"""The attribute that marks a view which takes keys."""

PARAMETER: Json = {
    "in": "header",
    "name": HEADER,
    "required": False,
    "description": (
        "A new one for every new request, a UUID say. The same request with the same key, within"
        f" {LIFETIME.total_seconds() / 3600:.0f} hours, is answered as the first time, with"
        f" `{REPLAYED}: true`, and creates nothing more. {FORM[0].upper()}{FORM[1:]}, in quotes as a String"
        " of RFC 9651 (without them also, where it has no space, comma, semicolon, backslash or quote)."
    ),
    # In its quotes, with every character of it escaped, it is at most twice as long.
    "schema": {"type": "string", "pattern": WRITTEN, "minLength": 1, "maxLength": 2 * LONGEST + 2},
}

_REPLAYED = {
    REPLAYED: {"description": "`true` where an earlier answer is given again.", "schema": {"type": "string"}}
}


def tell_of_keys(described: Json) -> None:
    """Write into an operation that takes keys what may come of them."""
    if PARAMETER not in described.get("parameters", ()):
        return
    for status, response in described["responses"].items():
        if status.startswith(("2", "4")):
            response["headers"] = response.get("headers", {}) | deepcopy(_REPLAYED)
    for kind in (IDEMPOTENCY_KEY_REFUSED, IDEMPOTENCY_KEY_RUNNING, IDEMPOTENCY_KEY_REUSED):
        also_refuses(described["responses"], kind)


def also_refuses(responses: Json, kind: ProblemType, headers: Json | None = None) -> None:
    """Add a kind of problem to the responses of an operation, beside others of its status."""
    known = responses.get(str(kind.status), {})
    also = known.get("description")
    response = {
        "description": f"{kind.title}; {also}" if also else kind.title,
        "headers": known.get("headers", {}) | deepcopy(headers or {}),
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/ProblemAnswer"}}},
    }
    responses[str(kind.status)] = {name: value for name, value in response.items() if value}
