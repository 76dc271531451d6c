"""Makes one delivery after another: claim, sign, send, and enter how it went."""

from __future__ import annotations

import logging
import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from time import monotonic

from api.events.payloads import body_of
from api.events.schedule import delay_after, hold_until
from api.events.sending import Answered, NotAnswered, Sender
from api.events.signing import signed_headers
from storage.claims import Claims, Result
from storage.webhook_records import TEST, Claim

SLACK_S = 30.0
"""So much longer than a request is a lease: for the database, a busy machine, and clocks that differ."""

TURN_S = 5.0
"""So long one webhook is served before the next has its turn."""

_log = logging.getLogger("stagewright.deliveries")


class Delivering:
    """Serves webhooks in turns. Every method may raise StoreUnavailable."""

    def __init__(
        self,
        claims: Claims,
        sender: Sender,
        timeout_s: float,
        chance: Callable[[], float] = random.random,
    ) -> None:
        self._claims, self._sender, self._chance = claims, sender, chance
        self._lease = timedelta(seconds=timeout_s + SLACK_S)

    def serve(self, shop: str, webhook_id: str, stopping: Callable[[], bool]) -> None:
        """Send what is due to a webhook, until its turn is over or an attempt fails."""
        ends_s = monotonic() + TURN_S
        while not stopping() and monotonic() < ends_s:
            claim = self._claims.claim(shop, webhook_id, self._lease)
            if claim is None or not self.deliver(claim):
                return

    def deliver(self, claim: Claim) -> bool:
        """Make a claimed delivery; whether the endpoint took it."""
        now, body = datetime.now(UTC), body_of(claim.event, claim.webhook_id)
        headers, began_s = signed_headers(claim.secrets, claim.event.id, body, now), monotonic()
        answered: Answered | None = None
        try:
            answered = self._sender.post(claim.url, headers, body)
            reason = _told(answered.status)
        except NotAnswered as error:
            reason = str(error)
        status = None if answered is None else answered.status
        result = Result(round((monotonic() - began_s) * 1000), status, reason)
        _note(claim, result)
        return self._enter(claim, result, answered)

    def _enter(self, claim: Claim, result: Result, answered: Answered | None) -> bool:
        if answered is not None and 200 <= answered.status <= 299:
            self._claims.delivered(claim, result)
            return True
        if answered is not None and answered.status == HTTPStatus.GONE:
            self._claims.gone(claim, result)
            return False
        now = datetime.now(UTC)
        held_until = None if answered is None else hold_until(answered.retry_after, now)
        delay = None if claim.event.type == TEST else delay_after(claim.tries, self._chance())
        due_at = None if delay is None else max(now + delay, held_until or now)
        self._claims.failed(claim, result, due_at, held_until)
        return False


def _told(status: int) -> str:
    if 300 <= status <= 399:
        return f"answered {status}; redirects are not followed"
    if status == HTTPStatus.GONE:
        return f"answered {status}: it wants nothing more"
    return f"answered {status}"


def _note(claim: Claim, result: Result) -> None:
    """One line in the log; it holds nothing of the address, the payload or the answer."""
    _log.info(
        "%s to %s, attempt %d: %s, in %d ms",
        claim.event.id,
        claim.webhook_id,
        claim.tries,
        result.reason,
        result.duration_ms,
        extra={
            "shop": claim.shop,
            "webhook": claim.webhook_id,
            "event": claim.event.id,
            "type": claim.event.type,
            "attempt": claim.tries,
            "status": result.status,
            "duration_ms": result.duration_ms,
        },
    )
