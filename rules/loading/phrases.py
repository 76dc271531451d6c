"""Pieces of messages: a value as it was written, and the name that was probably meant."""

from __future__ import annotations

from collections.abc import Collection
from difflib import get_close_matches

from rules.findings import printable

_SHOWN = 60
_LONGEST_NAME = 64
_SHORT_LIST = 12


def quoted(text: str) -> str:
    """`text` in quotes, on one line, cut when it is long."""
    return f"'{printable(text if len(text) <= _SHOWN else text[: _SHOWN - 1] + '…')}'"


def listed(names: Collection[str]) -> str:
    """The names, sorted, with commas."""
    return ", ".join(sorted(names))


def nearest(name: str, known: Collection[str]) -> str | None:
    """The known name that was probably meant."""
    close = get_close_matches(name, sorted(known), n=1) if len(name) <= _LONGEST_NAME else []
    return close[0] if close else None


def did_you_mean(name: str, known: Collection[str]) -> str:
    """`; did you mean 'x'?`, or the whole list where it is short, or nothing."""
    meant = nearest(name, known)
    if meant is not None:
        return f"; did you mean {quoted(meant)}?"
    if 0 < len(known) <= _SHORT_LIST:
        return f"; known: {listed(known)}"
    return ""
