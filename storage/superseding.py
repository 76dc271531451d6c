"""Which line items a decision about packs concerns, and the notice that their procedures are superseded.

A shop's own decision concerns its own line items; one of the service those of all shops that follow it. A
sandbox works by the rules of its shop.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, func, literal, or_, select

from storage.database import inserting
from storage.events import hand_out, random_event_id, subscribers
from storage.records import Activation, Situation, StatedFacts
from storage.sandboxes import SUFFIX, sandbox_id
from storage.shops import LOCAL
from storage.tables import activations, latest_procedures, outbox, stated_facts
from storage.webhook_records import SUPERSEDED

Changed = Callable[[Sequence[Situation]], Iterable[Situation]]
"""Of some situations, those in which the pack that takes force gives another procedure."""


def newest_of_shops(at: datetime) -> Select[tuple[int]]:
    """The `key` of the decision of every shop that holds at a moment."""
    come = activations.c.effective_from <= at
    return select(func.max(activations.c.key)).where(come).group_by(activations.c.shop)


def concerned(shop: str, at: datetime, since: datetime | None = None) -> ColumnElement[bool]:
    """Line items that go by what `shop` has decided, at a moment.

    For the service `since` leaves out the shops that have decided later to follow it: that concerns them.
    """
    if shop != LOCAL:
        return latest_procedures.c.shop.in_((shop, sandbox_id(shop)))
    own: ColumnElement[bool] = activations.c.pack_digest.is_not(None)
    if since is not None:
        own = or_(own, activations.c.effective_from > since)
    holds = and_(activations.c.shop != LOCAL, activations.c.key.in_(newest_of_shops(at)))
    elsewhere = (select(activations.c.shop + suffix).where(holds, own) for suffix in ("", SUFFIX))
    return and_(*(latest_procedures.c.shop.not_in(shops) for shops in elsewhere))


def digest_told() -> ColumnElement[Any]:
    """The pack that has superseded a procedure, in a query of the outbox joined with the activations."""
    service = activations.alias()
    followed = (
        select(service.c.pack_digest)
        .where(service.c.shop == LOCAL, service.c.effective_from <= outbox.c.created_at)
        .order_by(service.c.key.desc())
        .limit(1)
    )
    return func.coalesce(activations.c.pack_digest, followed.scalar_subquery())


def situations(connection: Connection, which: ColumnElement[bool]) -> tuple[Situation, ...]:
    """Line items, grouped by shop, by what they state and by the pack of their latest procedure."""
    groups = _GROUPED.where(which).subquery()
    query = (
        select(groups, stated_facts.c.material, stated_facts.c.facts)
        .join_from(groups, stated_facts, stated_facts.c.key == groups.c.stated_key)
        .order_by(groups.c.line_items.desc(), groups.c.pack_digest, groups.c.stated_key, groups.c.shop)
    )
    return tuple(
        Situation(
            shop=row.shop,
            pack_digest=row.pack_digest,
            stated=StatedFacts(row.material, json.loads(row.facts)),
            line_items=row.line_items,
            reference=row.reference,
        )
        for row in connection.execute(query)
    )


def tell(connection: Connection, activation: Activation, changed: Changed, now: datetime) -> None:
    """Enter a notice for every line item that a decision in force concerns and changes; none twice."""
    which = concerned(activation.shop, now, activation.effective_from)
    if not activation.follows:
        which = and_(which, latest_procedures.c.pack_digest != activation.digest)
    for situation in changed(situations(connection, which)):
        _supersede(connection, activation.key, situation, now)
    entered = and_(outbox.c.activation == activation.key, outbox.c.created_at == now)
    for shop in (None,) if activation.shop == LOCAL else (activation.shop, sandbox_id(activation.shop)):
        hand_out(connection, subscribers(connection, SUPERSEDED, shop), entered, now)


_GROUP = (latest_procedures.c.shop, latest_procedures.c.pack_digest, latest_procedures.c.stated_key)
_GROUPED: Select[Any] = select(
    *_GROUP,
    func.count().label("line_items"),
    func.min(latest_procedures.c.reference).label("reference"),
).group_by(*_GROUP)


def _supersede(connection: Connection, activation: int, situation: Situation, now: datetime) -> None:
    """One row for each line item of a situation, unless it has one from this activation."""
    concerned = select(
        random_event_id(),
        literal(SUPERSEDED),
        latest_procedures.c.shop,
        latest_procedures.c.reference,
        latest_procedures.c.procedure_id,
        literal(activation),
        literal(now, outbox.c.created_at.type),
    ).where(
        and_(
            latest_procedures.c.shop == situation.shop,
            latest_procedures.c.pack_digest == situation.pack_digest,
            latest_procedures.c.stated_key == situation.stated.key,
        )
    )
    columns = ("id", "event", "shop", "reference", "procedure_id", "activation", "created_at")
    connection.execute(inserting(connection, outbox).from_select(columns, concerned).on_conflict_do_nothing())
