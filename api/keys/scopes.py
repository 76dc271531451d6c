"""What a key must be for, declared with every view: `Noun(scope=…)`, `at(…, scope=…)`, `open_to_all`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from flask import Flask

from storage.key_records import ADMIN, LINE_ITEMS, RULES

__all__ = ["ADMIN", "LINE_ITEMS", "OPEN", "RULES", "needing", "open_to_all", "scope_of"]

OPEN = "open"
"""In place of a scope: no key is asked for."""

_NEEDED = "needed_scope"

View = TypeVar("View", bound=Callable[..., Any])


def needing(scope: str) -> Callable[[View], View]:
    """Serve a view only to keys with this scope; OPEN: to everybody."""

    def decorator(view: View) -> View:
        setattr(view, _NEEDED, scope)
        return view

    return decorator


open_to_all = needing(OPEN)


def scope_of(app: Flask, endpoint: str) -> str:
    """The scope that a view needs, or OPEN. Raises LookupError for a view that does not say."""
    scope: str | None = getattr(app.view_functions[endpoint], _NEEDED, None)
    if scope is None:
        raise LookupError(f"the view {endpoint} does not say which scope it needs, so nobody is served")
    return scope
