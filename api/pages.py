"""Lists that are answered page by page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from flask import Response, url_for

from api.answers import answer
from api.nouns import header
from api.problem_types import QUERY_REFUSED
from api.problems import refused
from schemas.faults import Fault
from storage.faults import CursorRefused
from storage.records import Page

T = TypeVar("T")

LINK = header("Link", '`rel="next"`: the next page, where there is one.')


def page_answer(
    endpoint: str,
    query: Mapping[str, Any],
    read: Callable[[int, str | None], Page[T]],
    document: Callable[[T], Mapping[str, Any]],
    members: Mapping[str, Any] | None = None,
    **place: str,
) -> Response:
    """The page that `query` asks for, with a link to the next one.

    `read` gets limit and cursor; `members` come before the items, `place` are variables of the path.
    Raises Problem for a cursor that the list did not give out.
    """
    cursor = query.get("cursor")
    try:
        page = read(query["limit"], cursor)
    except CursorRefused as error:
        fault = Fault("cursor", "is not one that this list gave out", cursor)
        raise refused(QUERY_REFUSED, [fault], "parameter") from error
    response = answer({**(members or {}), "items": [document(item) for item in page.items]})
    if page.next_cursor is not None:
        following = url_for(endpoint, **{**query, **place, "cursor": page.next_cursor})
        response.headers["Link"] = f'<{following}>; rel="next"'
    return response
