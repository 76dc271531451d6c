"""Remembered decisions. The fact domain is finite, so a decision can be looked up by its cells."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

from rules.decision import Decision

Key = tuple[str, tuple[int, ...]]
"""(pack digest, cell numbers of the canonical facts)."""


class DecisionCache:
    """Keeps the `size` decisions used last. Never changes an answer; a failure is not kept.

    `note` is told of every look-up: True where the decision was remembered.
    """

    def __init__(self, size: int = 4096, note: Callable[[bool], object] = lambda hit: None) -> None:
        self._size = size
        self._note = note
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
            else:
                self.misses += 1
        self._note(known is not None)
        if known is not None:
            return known
        decision = compute()
        with self._lock:
            self._decisions[key] = decision
            while len(self._decisions) > self._size:
                self._decisions.popitem(last=False)
        return decision
