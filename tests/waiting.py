"""Waiting for what other processes and threads do."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic, sleep
from typing import Any

PATIENCE_S = 60.0


def until(look: Callable[[], Any], tell: Callable[[], str] = lambda: "it never came") -> Any:
    """What `look` finds, as soon as it finds anything; `tell` says what was waited for in vain."""
    deadline_s = monotonic() + PATIENCE_S
    while not (found := look()):
        assert monotonic() < deadline_s, f"not within {PATIENCE_S:.0f} s: {tell()}"
        sleep(0.1)
    return found
