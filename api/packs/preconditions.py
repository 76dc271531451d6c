"""`If-Match`: what is in force is changed only by who has seen what is in force now."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import request

from api.problem_types import PRECONDITION_FAILED, PRECONDITION_REQUIRED
from api.problems import Problem
from storage.activations import Activations

IF_MATCH = {
    "in": "header",
    "name": "If-Match",
    "description": "The `ETag` of GET /v1/packs/active, or `*`.",
    "required": True,
    "schema": {"type": "string"},
}


def etag_of(activations: Activations) -> tuple[str, int]:
    """The entity tag of what is decided and in force now, and the number of the last decision."""
    last, in_force = activations.last(), activations.in_force(datetime.now(UTC))
    number = 0 if last is None else last.number
    return f"activation-{number}-{0 if in_force is None else in_force.number}", number


def expected_number(activations: Activations) -> int:
    """The number of the decision that this request builds on. Raises Problem."""
    if "If-Match" not in request.headers:
        raise Problem(PRECONDITION_REQUIRED, "If-Match is missing; send the ETag of GET /v1/packs/active")
    etag, number = etag_of(activations)
    if not (request.if_match.star_tag or request.if_match.is_strong(etag)):
        raise failed()
    return number


def failed() -> Problem:
    """Somebody else has decided meanwhile."""
    return Problem(PRECONDITION_FAILED, "what is in force is no longer what If-Match names; read it again")
