"""One line item of a batch, on its way to its answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from flask import Response, current_app

from storage.idempotency import Asked, Begun
from storage.keeping import Issue


@dataclass
class Item:
    """`given` is what was sent, without its key; `response` is its answer, once it has one.

    `asked` and `begun`: its key, where it has one; `begun` until an answer is kept for it. `repeats` is an
    earlier line item of the batch with the same key. `issue` is what is to be kept, until it is.
    """

    given: Any
    asked: Asked | None = None
    begun: Begun | None = None
    repeats: Item | None = None
    issue: Issue | None = None
    response: Response | None = None


def waiting(items: Iterable[Item]) -> list[Item]:
    """Those with which something is still to be done."""
    return [item for item in items if item.response is None and item.repeats is None]


@contextmanager
def failures_answer(*items: Item) -> Iterator[None]:
    """What is raised within becomes the answer of `items`, as if each had been sent alone."""
    try:
        yield
    except Exception as error:
        response = current_app.make_response(current_app.handle_user_exception(error))
        for item in items:
            item.response = response
