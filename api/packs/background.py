"""Work that is done again and again beside the requests."""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event, Thread

from storage.faults import StoreUnavailable

_log = logging.getLogger("stagewright")


class Repeating:
    """Calls `action` every `every_s` seconds from a thread of its own.

    A failure is logged, once until it is over, and tried again.
    """

    def __init__(self, name: str, every_s: float, action: Callable[[], object]) -> None:
        self._every_s = every_s
        self._action = action
        self._stop = Event()
        self._thread = Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Returns when the action under way has ended."""
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        failing = False
        while not self._stop.wait(self._every_s):
            try:
                self._action()
                failing = False
            except Exception as error:
                if not failing:
                    # What is wrong with the database is told by its words, anything else by its traceback.
                    told = error if isinstance(error, StoreUnavailable) else None
                    _log.error(
                        "%s failed; it will be tried again: %s",
                        self._thread.name,
                        told or type(error).__name__,
                        exc_info=told is None,
                    )
                failing = True
