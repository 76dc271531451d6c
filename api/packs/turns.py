"""Who may have how much done at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

from storage.shops import LOCAL


class Busy(Exception):
    """As much is under way as may be; the message says of whom."""


class Turns:
    """One thing at a time for each shop, and `most` for all of them together, in this process.

    That of the service itself comes beside them: no shop holds it up, or can tell that it is under way.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = Lock()
        self._at_work: set[str] = set()

    @contextmanager
    def of(self, shop: str) -> Iterator[None]:
        """While the body runs, the shop has its turn. Raises Busy."""
        with self._lock:
            if shop in self._at_work:
                raise Busy("another one of your shop is under way")
            if shop != LOCAL and len(self._at_work - {LOCAL}) >= self._most:
                raise Busy("as many as the service does at once are under way")
            self._at_work.add(shop)
        try:
            yield
        finally:
            with self._lock:
                self._at_work.remove(shop)
