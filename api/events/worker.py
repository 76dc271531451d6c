"""A worker: looks every second what is due, and serves webhooks from the queue that all workers share."""

from __future__ import annotations

import logging
from datetime import UTC, datetime

from huey import Huey

from api.events.delivering import Delivering
from api.packs.background import Repeating
from storage.claims import Claims
from storage.faults import StoreUnavailable

SWEEP_EVERY_S = 1.0
REMOVE_EVERY_S = 300.0
LONGEST_WAIT_S = 0.5
"""So long a thread without work may leave the queue unlooked at."""

_log = logging.getLogger("stagewright")


class Worker:
    """Serves up to `threads` webhooks at once. SIGTERM lets the deliveries at hand end, SIGINT does not."""

    def __init__(self, queue: Huey, claims: Claims, delivering: Delivering, threads: int) -> None:
        self._queue, self._claims, self._delivering = queue, claims, delivering
        self._serve = queue.task(name="serve")(self.serve)
        self._consumer = queue.create_consumer(
            workers=threads, periodic=False, max_delay=LONGEST_WAIT_S, graceful_signal="TERM"
        )

    def run(self) -> None:
        """Work until told to stop. For the main thread, as it takes signals."""
        beside = [
            Repeating("looking for what is due", SWEEP_EVERY_S, self.sweep),
            Repeating("removing old deliveries", REMOVE_EVERY_S, self._claims.remove_old),
        ]
        for work in beside:
            work.start()
        self._consumer.run()
        for work in beside:
            work.stop()

    def sweep(self) -> None:
        """Queue a turn for every webhook that waits for one and has none in the queue."""
        queued = {tuple(task.args) for task in self._queue.pending()}
        for shop, webhook_id in self._claims.to_be_served(datetime.now(UTC)):
            if (shop, webhook_id) not in queued:
                self._serve(shop, webhook_id)

    def serve(self, shop: str, webhook_id: str) -> None:
        """One turn."""
        try:
            self._delivering.serve(shop, webhook_id, self._consumer.stop_flag.is_set)
        except StoreUnavailable as error:
            # The lease runs out, and what was sent is sent again under its id.
            _log.warning("a turn ended early: %s", error)
