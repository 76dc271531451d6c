"""A quota for every shop, counted in memory, or in Redis where several processes share it."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from time import monotonic
from typing import TypeVar

from limits import RateLimitItem, RateLimitItemPerSecond
from limits.errors import ConfigurationError, StorageError
from limits.storage import storage_from_string
from limits.strategies import FixedWindowRateLimiter, RateLimiter

IN_MEMORY = "memory://"
PATIENCE_S = 1
PAUSE_S = 5.0
"""So long Redis is not asked again once it did not answer: nobody waits for it in vain time and again."""

_log = logging.getLogger("stagewright")

T = TypeVar("T")


class QuotaRefused(ValueError):
    """A quota can't be counted there; the message says why."""


@dataclass(frozen=True)
class Left:
    """What is left of a quota, and in how many seconds it is whole again."""

    requests: int
    reset_s: int


class Quota:
    """`requests` in every window of `window_s` seconds, for each name. Safe to use from several threads.

    A window begins with the first request in it. Where Redis does not answer nobody is held up: then every
    method answers None, and the log tells.
    """

    def __init__(self, requests: int, window_s: int, storage: str = IN_MEMORY) -> None:
        """Raises QuotaRefused for a `storage` that is none; whether it answers shows later."""
        self.requests, self.window_s = requests, window_s
        self._item: RateLimitItem = RateLimitItemPerSecond(requests, window_s, namespace="stagewright")
        self._limiter = _limiter(storage)
        self._paused_until_s = 0.0

    def take(self, name: str, cost: int = 1) -> bool | None:
        """Whether this much was left. If not, nothing is taken."""
        return self._told(lambda: self._take(name, cost))

    def left(self, name: str) -> Left | None:
        """What is left now."""
        return self._told(lambda: self._left(name))

    def _told(self, ask: Callable[[], T]) -> T | None:
        if monotonic() < self._paused_until_s:
            return None
        try:
            return ask()
        except StorageError as error:
            self._paused_until_s = monotonic() + PAUSE_S
            kind = type(error.storage_error).__name__
            _log.error("for %g s requests are not counted, so nobody is held up: %s", PAUSE_S, kind)
            return None

    def _take(self, name: str, cost: int) -> bool:
        # A hit is counted even where it is refused, so it is asked for first.
        return self._limiter.test(self._item, name, cost=cost) and self._limiter.hit(
            self._item, name, cost=cost
        )

    def _left(self, name: str) -> Left:
        stats = self._limiter.get_window_stats(self._item, name)
        return Left(stats.remaining, max(0, ceil(stats.reset_time - time.time())))


def _limiter(storage: str) -> RateLimiter:
    in_memory = storage == IN_MEMORY
    patience = {} if in_memory else {"socket_connect_timeout": PATIENCE_S, "socket_timeout": PATIENCE_S}
    try:
        return FixedWindowRateLimiter(storage_from_string(storage, wrap_exceptions=True, **patience))
    except (ConfigurationError, ValueError) as error:
        # The text may hold a password.
        told = "requests are counted in memory:// or in redis://HOST:PORT/NUMBER (with stagewright[redis])"
        raise QuotaRefused(told) from error
