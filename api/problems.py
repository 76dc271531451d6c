"""A request that ends with a problem document (RFC 9457)."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any

from flask import Response

from api.problem_types import ProblemType
from schemas.faults import Fault

MEDIA_TYPE = "application/problem+json"

MOST_ERRORS = 50
"""More are not told: a body of nothing but faults must not cost more than a right one."""


class Problem(Exception):
    """A request ends here. `members` are further members of the document, `headers` of the response."""

    def __init__(
        self,
        kind: ProblemType,
        detail: str,
        *,
        headers: Mapping[str, str] | None = None,
        status: int | None = None,
        **members: Any,
    ) -> None:
        super().__init__(detail)
        self.kind = kind
        self.status = status or kind.status
        self.headers = headers
        self.members = members

    def response(self) -> Response:
        """The problem document, not to be stored by anyone."""
        document = {
            "type": self.kind.uri,
            "title": self.kind.title,
            "status": self.status,
            "detail": str(self),
            **self.members,
        }
        response = Response(json.dumps(document), self.status, self.headers, content_type=MEDIA_TYPE)
        response.cache_control.no_store = True
        return response


def refused(kind: ProblemType, faults: Iterable[Fault], place: str = "pointer") -> Problem:
    """A problem that tells every fault with its place; `detail` tells the first."""
    errors = [fault.as_error(place) for fault in islice(faults, MOST_ERRORS)]
    where = errors[0][place] or "the body"
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return Problem(kind, f"{where} {errors[0]['detail']}{more}", errors=errors)
