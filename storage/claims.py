"""Who sends what: a delivery is claimed by a lease, so that several workers share the work.

The database is the truth. A worker that dies leaves a lease that runs out, and an attempt that is told as
lost; the delivery is then made again, under the same id. Workers' clocks must agree to within a few seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    Row,
    Table,
    delete,
    exists,
    func,
    insert,
    or_,
    select,
    tuple_,
    update,
)

from storage import audit
from storage.database import guarded, writing
from storage.deliveries import ITS_EVENT, RETENTION
from storage.events import Subscriber
from storage.superseding import digest_told
from storage.tables import activations, attempts, deliveries, outbox, webhooks
from storage.webhook_records import GONE, Claim, DeliveryState, Event
from storage.webhook_secrets import holding
from storage.webhooks import RELEASED, disable, stop_waiting

AT_ONCE = 2
"""So many deliveries may be under way to one webhook, over all workers."""

REMOVED_AT_ONCE = 10_000
"""So many old rows of a table go in one transaction: whoever writes to SQLite waits for it."""

LOST = "the worker ended before the answer; it may have arrived"


@dataclass(frozen=True)
class Result:
    """How an attempt went; `status` where an answer came, `reason` in words of our own."""

    duration_ms: int
    status: int | None
    reason: str


class Claims:
    """The deliveries of one database that are to be made. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def to_be_served(self, now: datetime) -> list[Subscriber]:
        """The webhooks for which something is due that nobody is sending, and that may be sent something."""
        due = exists().where(deliveries.c.webhook_id == webhooks.c.id, *_due(now))
        under_way = _under_way(now).where(deliveries.c.webhook_id == webhooks.c.id).scalar_subquery()
        query = select(webhooks.c.shop, webhooks.c.id).where(*_open(now), due, under_way < AT_ONCE)
        with guarded(self._engine), self._engine.connect() as connection:
            return [(row.shop, row.id) for row in connection.execute(query)]

    def claim(
        self, shop: str, webhook_id: str, lease: timedelta, now: datetime | None = None
    ) -> Claim | None:
        """What is to be sent to a webhook next, by the caller alone until the lease runs out.

        None where nothing is due, or AT_ONCE deliveries to it are under way.
        """
        now = now or datetime.now(UTC)
        its = (webhooks.c.shop == shop, webhooks.c.id == webhook_id)
        with guarded(self._engine), self._engine.connect() as connection, connection.begin() as whole:
            # Written first, so that whoever else claims for this webhook waits here.
            webhook = connection.execute(
                update(webhooks).where(*its, *_open(now)).values(tried_at=now).returning(webhooks)
            ).first()
            found = None if webhook is None else _next(connection, webhook, now)
            if webhook is None or found is None:
                whole.rollback()
                return None
            return _take(connection, webhook, found, now, now + lease)

    def delivered(self, claim: Claim, result: Result) -> None:
        """The endpoint took it."""
        now = datetime.now(UTC)
        with guarded(self._engine), self._engine.begin() as connection:
            _end(connection, claim, result, state=DeliveryState.DELIVERED.value, due_at=None, ended_at=now)

    def failed(
        self, claim: Claim, result: Result, due_at: datetime | None, held_until: datetime | None = None
    ) -> None:
        """To be tried again at `due_at`, or given up; until `held_until` nothing is sent to the webhook."""
        now = datetime.now(UTC)
        given_up = {"state": DeliveryState.GIVEN_UP.value, "ended_at": now} if due_at is None else {}
        with guarded(self._engine), self._engine.begin() as connection:
            if held_until is not None:
                connection.execute(update(webhooks).where(*_asked(claim)).values(held_until=held_until))
            _end(connection, claim, result, due_at=due_at, **given_up)

    def gone(self, claim: Claim, result: Result) -> None:
        """The endpoint wants nothing more: its webhook is disabled, and all that waits for it stopped.

        Where the webhook leads elsewhere by now, the event is sent there.
        """
        now = datetime.now(UTC)
        with writing(self._engine) as connection:
            enabled = webhooks.c.disabled_at.is_(None)
            if connection.scalar(select(webhooks.c.id).where(*_asked(claim), enabled)) is not None:
                disable(connection, claim.shop, claim.webhook_id, GONE, now)
                told = {"webhook": claim.webhook_id, "shop": claim.shop, "because": GONE}
                audit.append(connection, "webhook.disabled", told, now)
            _end(connection, claim, result, due_at=now)

    def remove_old(self, now: datetime | None = None) -> int:
        """Remove deliveries that ended long ago, and what nobody needs any more; returns how many.

        The rest goes the next time, where there are more than REMOVED_AT_ONCE.
        """
        now = now or datetime.now(UTC)
        before = now - RETENTION
        untold = ~exists().where(deliveries.c.shop == outbox.c.shop, deliveries.c.event_id == outbox.c.id)
        passed = (outbox.c.activation.is_(None), outbox.c.created_at < before, untold)
        with guarded(self._engine), self._engine.begin() as connection:
            _stop_stragglers(connection, now)
            removed = _remove(connection, deliveries, deliveries.c.ended_at < before)
            # What superseded a procedure stays entered, as it is told once.
            _remove(connection, outbox, *passed)
        return removed


def _remove(connection: Connection, table: Table, *which: ColumnElement[bool]) -> int:
    some = select(*table.primary_key).where(*which).limit(REMOVED_AT_ONCE)
    # `which` once more: a row may have been changed since it was chosen.
    chosen = tuple_(*table.primary_key).in_(some)
    return connection.execute(delete(table).where(*which, chosen)).rowcount


def _stop_stragglers(connection: Connection, now: datetime) -> None:
    """What was entered for a webhook in the very moment in which it was disabled."""
    disabled = exists().where(webhooks.c.id == deliveries.c.webhook_id, webhooks.c.disabled_at.is_not(None))
    stop_waiting(connection, disabled, now)


def _open(now: datetime) -> tuple[Any, Any]:
    """Webhooks to which something may be sent."""
    held = webhooks.c.held_until
    return webhooks.c.disabled_at.is_(None), or_(held.is_(None), held <= now)


def _due(now: datetime) -> tuple[Any, Any]:
    """Deliveries that are to be made and that nobody is making."""
    leased = deliveries.c.leased_until
    return deliveries.c.due_at <= now, or_(leased.is_(None), leased <= now)


def _asked(claim: Claim) -> tuple[Any, ...]:
    """The webhook of a claim, where it still leads to where was sent."""
    return webhooks.c.shop == claim.shop, webhooks.c.id == claim.webhook_id, webhooks.c.url == claim.url


def _under_way(now: datetime) -> Any:
    return select(func.count()).select_from(deliveries).where(deliveries.c.leased_until > now)


def _next(connection: Connection, webhook: Row[Any], now: datetime) -> Row[Any] | None:
    """The delivery that is due longest, with its event; None where there is none, or enough is under way."""
    its = (deliveries.c.shop == webhook.shop, deliveries.c.webhook_id == webhook.id)
    if connection.execute(_under_way(now).where(*its)).scalar_one() >= AT_ONCE:
        return None
    return connection.execute(
        select(outbox, deliveries.c.tries, digest_told().label("pack_digest"))
        .join_from(deliveries, outbox, ITS_EVENT)
        .join(activations, activations.c.key == outbox.c.activation, isouter=True)
        .where(*its, *_due(now))
        .order_by(deliveries.c.due_at, deliveries.c.event_id)
        .limit(1)
        # Whoever ends it or begins it anew just now is waited for, and what is then no longer due is left.
        .with_for_update(of=deliveries)
    ).first()


def _take(
    connection: Connection, webhook: Row[Any], found: Row[Any], now: datetime, until: datetime
) -> Claim:
    token, named = uuid4().hex, {"shop": webhook.shop, "webhook_id": webhook.id, "event_id": found.id}
    leased = {"token": token, "leased_until": until, "tries": found.tries + 1}
    connection.execute(update(deliveries).filter_by(**named).values(leased))
    unended = update(attempts).filter_by(**named).where(attempts.c.reason.is_(None))
    connection.execute(unended.values(reason=LOST))
    entered = insert(attempts).values(began_at=now, **named).returning(attempts.c.number)
    return Claim(
        shop=webhook.shop,
        webhook_id=webhook.id,
        event=Event(
            id=found.id,
            type=found.event,
            created_at=found.created_at,
            reference=found.reference,
            procedure_id=found.procedure_id,
            pack_digest=found.pack_digest,
        ),
        url=webhook.url,
        secrets=tuple(secret for secret, _ in holding(webhook.secrets, now)),
        tries=found.tries + 1,
        token=token,
        attempt=connection.execute(entered).scalar_one(),
    )


def _end(connection: Connection, claim: Claim, result: Result, **columns: Any) -> None:
    """Log an attempt; the delivery becomes what `columns` say, unless another has claimed it since.

    The delivery is written first, as by whoever claims it: of two at once one waits, and never both.
    """
    held = (
        deliveries.c.shop == claim.shop,
        deliveries.c.webhook_id == claim.webhook_id,
        deliveries.c.event_id == claim.event.id,
        deliveries.c.token == claim.token,
    )
    connection.execute(update(deliveries).where(*held).values({**columns, **RELEASED}))
    _log(connection, claim, result)


def _log(connection: Connection, claim: Claim, result: Result) -> None:
    log = {"duration_ms": result.duration_ms, "status": result.status, "reason": result.reason}
    connection.execute(update(attempts).where(attempts.c.number == claim.attempt).values(log))
