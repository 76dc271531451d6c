"""The log of what webhooks were told, and telling them again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, and_, distinct, func, or_, select, update

from storage.database import guarded, writing
from storage.faults import DeliveryUnknown
from storage.paging import beyond, page_of
from storage.records import Page, Position
from storage.tables import attempts, deliveries, outbox
from storage.webhook_records import Attempt, Delivery, DeliveryState
from storage.webhooks import RELEASED, known, refuse_disabled

RETENTION = timedelta(days=30)
"""So long a delivery stays in the log after its end."""

_MISSED = (DeliveryState.GIVEN_UP.value, DeliveryState.STOPPED.value)


class Deliveries:
    """The deliveries of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def of_webhook(
        self,
        shop: str,
        webhook_id: str,
        limit: int,
        after: str | None = None,
        state: DeliveryState | None = None,
    ) -> Page[Delivery]:
        """The deliveries to a webhook, last first, at most `limit` from the cursor `after` on.

        Where a `state` is named, only those in it. Raises CursorRefused for a cursor that did not come from
        an earlier page.
        """
        query = _of(shop, webhook_id).limit(limit + 1)
        query = query.order_by(deliveries.c.created_at.desc(), deliveries.c.event_id.desc())
        if state is not None:
            query = query.where(deliveries.c.state == state.value)
        if after is not None:
            query = query.where(beyond(after, deliveries.c.created_at, deliveries.c.event_id))
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(query).all()
        return page_of(rows, limit, _delivery, lambda row: Position(row.created_at, row.event_id))

    def find(self, shop: str, webhook_id: str, event_id: str) -> Delivery | None:
        """A delivery with all its attempts."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _find(connection, shop, webhook_id, event_id)

    def replay(self, shop: str, webhook_id: str, event_id: str) -> Delivery:
        """Make a delivery once more, now and with the whole schedule before it.

        Raises DeliveryUnknown, also where there is no such webhook, and WebhookDisabled.
        """
        with writing(self._engine) as connection:
            if _find(connection, shop, webhook_id, event_id) is None:
                raise DeliveryUnknown(f"the webhook has no delivery of '{event_id[:80]}'")
            _begin_anew(connection, shop, webhook_id, deliveries.c.event_id == event_id)
            replayed = _find(connection, shop, webhook_id, event_id)
        assert replayed is not None
        return replayed

    def replay_ended(self, shop: str, webhook_id: str) -> int:
        """Make every delivery that was given up or stopped once more; returns how many there are.

        Raises WebhookUnknown and WebhookDisabled.
        """
        with writing(self._engine) as connection:
            return _begin_anew(connection, shop, webhook_id, deliveries.c.state.in_(_MISSED))

    def waiting(self) -> int:
        """How many events there are of which a webhook is still to be told."""
        query = select(func.count(distinct(deliveries.c.event_id))).where(deliveries.c.due_at.is_not(None))
        with guarded(self._engine), self._engine.connect() as connection:
            return connection.execute(query).scalar_one()


def _begin_anew(connection: Connection, shop: str, webhook_id: str, which: Any) -> int:
    refuse_disabled(known(connection, shop, webhook_id))
    now, leased_until = datetime.now(UTC), deliveries.c.leased_until
    # One that is under way is left to its attempt.
    idle = or_(leased_until.is_(None), leased_until <= now)
    its = (deliveries.c.shop == shop, deliveries.c.webhook_id == webhook_id, which, idle)
    waiting = {"state": DeliveryState.WAITING.value, "due_at": now, "ended_at": None, "tries": 0, **RELEASED}
    return connection.execute(update(deliveries).where(*its).values(waiting)).rowcount


_COUNT = (
    select(func.count())
    .select_from(attempts)
    .where(
        attempts.c.shop == deliveries.c.shop,
        attempts.c.webhook_id == deliveries.c.webhook_id,
        attempts.c.event_id == deliveries.c.event_id,
    )
    .scalar_subquery()
)


ITS_EVENT = and_(outbox.c.shop == deliveries.c.shop, outbox.c.id == deliveries.c.event_id)
"""By which a delivery is joined with what it tells of."""


def _of(shop: str, webhook_id: str) -> Select[Any]:
    return (
        select(
            deliveries, outbox.c.event, outbox.c.reference, outbox.c.procedure_id, _COUNT.label("attempts")
        )
        .join_from(deliveries, outbox, ITS_EVENT)
        .where(deliveries.c.shop == shop, deliveries.c.webhook_id == webhook_id)
    )


def _find(connection: Connection, shop: str, webhook_id: str, event_id: str) -> Delivery | None:
    row = connection.execute(_of(shop, webhook_id).where(deliveries.c.event_id == event_id)).first()
    if row is None:
        return None
    its = (attempts.c.shop == shop, attempts.c.webhook_id == webhook_id, attempts.c.event_id == event_id)
    log = connection.execute(select(attempts).where(*its).order_by(attempts.c.number)).all()
    return _delivery(row, tuple(_attempt(each) for each in log))


def _delivery(row: Row[Any], log: tuple[Attempt, ...] = ()) -> Delivery:
    return Delivery(
        event_id=row.event_id,
        event=row.event,
        webhook_id=row.webhook_id,
        state=DeliveryState(row.state),
        created_at=row.created_at,
        due_at=row.due_at,
        ended_at=row.ended_at,
        reference=row.reference,
        procedure_id=row.procedure_id,
        attempt_count=row.attempts,
        attempts=log,
    )


def _attempt(row: Row[Any]) -> Attempt:
    return Attempt(row.began_at, row.duration_ms, row.status, row.reason)
