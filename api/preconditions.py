"""`If-Match`: what is kept is changed only by who has seen it as it is."""

from __future__ import annotations

from typing import Any

from flask import request

from api.problem_types import PRECONDITION_FAILED, PRECONDITION_REQUIRED
from api.problems import Problem


def if_match(reading: str) -> dict[str, Any]:
    """The header in the OpenAPI document; `reading` is the call whose `ETag` it takes."""
    return {
        "in": "header",
        "name": "If-Match",
        "description": f"The `ETag` of {reading}, or `*`.",
        "required": True,
        "schema": {"type": "string"},
    }


def refuse_unseen(etag: str, reading: str) -> None:
    """Raises Problem where `If-Match` of this request is missing, or leaves out `etag`."""
    if "If-Match" not in request.headers:
        raise Problem(PRECONDITION_REQUIRED, f"If-Match is missing; send the ETag of {reading}")
    if not (request.if_match.star_tag or request.if_match.is_strong(etag)):
        raise changed_meanwhile(reading)


def changed_meanwhile(reading: str) -> Problem:
    """What the request builds on is no longer so."""
    return Problem(PRECONDITION_FAILED, f"it is no longer what If-Match names; read it again by {reading}")
