"""A page of a list, last kept first: which rows it takes, and the cursor to the next one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Row, and_, or_

from storage.records import Page, Position

T = TypeVar("T")


def beyond(cursor: str, moment: ColumnElement[datetime], key: ColumnElement[str]) -> ColumnElement[bool]:
    """The rows after the page that ended at a cursor, where both columns go down.

    Raises CursorRefused for a cursor that did not come from an earlier page.
    """
    end = Position.from_cursor(cursor)
    return or_(moment < end.moment, and_(moment == end.moment, key < end.key))


def page_of(
    rows: Sequence[Row[Any]],
    limit: int,
    item_of: Callable[[Row[Any]], T],
    position_of: Callable[[Row[Any]], Position],
) -> Page[T]:
    """The first `limit` of rows; one row more says that the list goes on."""
    shown = rows[:limit]
    following = position_of(shown[-1]).as_cursor() if len(rows) > limit else None
    return Page(tuple(item_of(row) for row in shown), following)
