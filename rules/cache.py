"""Remembered decisions. The fact domain is finite, so a decision can be looked up by its cells."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

from rules.decision import Decision

Key = tuple[str, tuple[int, ...]]
"""(pack digest, cell numbers of the canonical facts)."""


class DecisionCache:
    """Keeps the `size` decisions used last. Never changes an answer; a failure is not kept."""

    def __init__(self, size: int = 4096) -> None:
        self._size = size
        self._decisions: OrderedDict[Key, Decision] = OrderedDict()
        self._lock = Lock()
        self.hits = 0
        self.misses = 0

    def get_or_compute(self, key: Key, compute: Callable[[], Decision]) -> Decision:
        """The remembered decision for `key`, or the one `compute` gives, remembered."""
        with self._lock:
            known = self._decisions.get(key)
            if known is not None:
                self._decisions.move_to_end(key)
                self.hits += 1
                return known
            self.misses += 1
        decision = compute()
        with self._lock:
            self._decisions[key] = decision
            while len(self._decisions) > self._size:
                self._decisions.popitem(last=False)
        return decision
