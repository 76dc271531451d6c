"""Sending documents: JSON with an entity tag, and 304 where the caller has it already."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from flask import Response, request

from api.problem_types import PRECONDITION_FAILED
from api.problems import Problem

JSON = "application/json"


def answer(document: Mapping[str, Any], status: int = 200, etag: str | None = None) -> Response:
    """`document` as JSON; its entity tag is `etag`, or a digest of the bytes."""
    return conditional(Response(json.dumps(document), status, content_type=JSON), etag)


def conditional(response: Response, etag: str | None = None) -> Response:
    """`response` with an entity tag; 304 instead where `If-None-Match` of a reading request holds it.

    Raises Problem where its `If-Match` leaves it out.
    """
    if etag is None:
        response.add_etag()
    else:
        response.set_etag(etag)
    response.cache_control.private = True
    response.cache_control.no_cache = True
    response.make_conditional(request)
    if response.status_code == PRECONDITION_FAILED.status:
        raise Problem(
            PRECONDITION_FAILED, f"If-Match leaves out the ETag of this answer, {response.headers['ETag']}"
        )
    return response
