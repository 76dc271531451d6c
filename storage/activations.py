"""Which pack is in force when, and the line items that a change concerns.

An activation is one row. In force at a moment is the highest number whose `effective_from` has come, so a
later decision always prevails over an earlier one, also over one that was still to come.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, and_, func, insert, literal, select

from storage import audit
from storage.audit import Who
from storage.database import guarded, inserting, writing
from storage.faults import ActivationConflict
from storage.packs import refuse_unproven
from storage.records import Activation, Situation, StatedFacts
from storage.tables import activations, latest_procedures, outbox, stated_facts

SUPERSEDED = "procedure.superseded"

Changed = Callable[[Sequence[Situation]], Iterable[Situation]]
"""Of some situations, those in which the pack that takes force gives another procedure."""


class Activations:
    """The activations of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def in_force(self, at: datetime) -> Activation | None:
        """The activation in force at a moment; None before the first."""
        return self._first(_NEWEST.where(activations.c.effective_from <= at))

    def last(self) -> Activation | None:
        """The decision taken last, whether it has taken force or not."""
        return self._first(_NEWEST)

    def before(self, activation: Activation) -> Activation | None:
        """What was in force before `activation`, with another pack; or None."""
        return self._first(
            _NEWEST.where(
                activations.c.number < activation.number,
                activations.c.effective_from <= activation.effective_from,
                activations.c.pack_digest != activation.pack_digest,
            )
        )

    def upcoming(self, at: datetime) -> tuple[Activation, ...]:
        """Activations that will take force after a moment, unless decided otherwise; first first."""
        in_force = select(func.max(activations.c.number)).where(activations.c.effective_from <= at)
        later = activations.c.number > func.coalesce(in_force.scalar_subquery(), 0)
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(_NEWEST.where(later).limit(None)).all()
        coming: list[Activation] = []
        for activation in map(_activation, rows):
            if not coming or activation.effective_from < coming[-1].effective_from:
                coming.append(activation)
        return tuple(reversed(coming))

    def undelivered(self) -> int:
        """How many events of the outbox wait for delivery."""
        waiting = select(func.count()).select_from(outbox).where(outbox.c.delivered_at.is_(None))
        with guarded(self._engine), self._engine.connect() as connection:
            return connection.execute(waiting).scalar_one()

    def activate(
        self,
        digest: str,
        after: int,
        origin: str,
        changed: Changed,
        effective_from: datetime | None = None,
        needs_proof: bool = True,
        by: Who | None = None,
    ) -> Activation:
        """Enter the decision that follows number `after`, with its audit entry, in one transaction.

        It takes force at once, and then the line items it concerns are told in the same transaction;
        or at `effective_from`, and then `tell` is to be called. Raises ActivationConflict when another
        decision was taken meanwhile, PackNotProven when the pack's last proof did not pass.
        """
        with writing(self._engine) as connection:
            now = datetime.now(UTC)
            activation = Activation(after + 1, digest, effective_from or now, now, origin)
            last = connection.scalar(select(func.max(activations.c.number))) or 0
            if last != after:
                raise ActivationConflict(f"activation {last} has taken the place of {after}")
            if needs_proof:
                refuse_unproven(connection, digest)
            connection.execute(insert(activations).values(_row(activation)))
            details = audit.activation_details(
                activation.number, digest, activation.effective_from, activation.origin
            )
            audit.append(connection, audit.ACTIVATED, details, now, by)
            if effective_from is None:
                _tell(connection, activation, changed, now)
        return activation

    def tell(self, activation: Activation, changed: Changed) -> None:
        """Tell the line items that a decision in force concerns; each is told once.

        To be repeated when procedures may have been issued under another pack meanwhile.
        """
        with writing(self._engine) as connection:
            _tell(connection, activation, changed, datetime.now(UTC))

    def was_in_force(self, digest: str) -> bool:
        """Whether there was ever a decision for this pack."""
        return self._first(_NEWEST.where(activations.c.pack_digest == digest)) is not None

    def situations(self) -> tuple[Situation, ...]:
        """All line items, grouped by shop, by what they state and by the pack of their latest procedure."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _situations(connection, _GROUPED)

    def situations_of(self, shop: str) -> tuple[Situation, ...]:
        """Those of one shop."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _situations(connection, _GROUPED.where(latest_procedures.c.shop == shop))

    def _first(self, query: Select[Any]) -> Activation | None:
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(query).first()
        return None if row is None else _activation(row)


_NEWEST = select(activations).order_by(activations.c.number.desc()).limit(1)

_GROUP = (latest_procedures.c.shop, latest_procedures.c.pack_digest, latest_procedures.c.stated_key)
_GROUPED = select(
    *_GROUP,
    func.count().label("line_items"),
    func.min(latest_procedures.c.reference).label("reference"),
).group_by(*_GROUP)


def _situations(connection: Connection, grouped: Select[Any]) -> tuple[Situation, ...]:
    groups = grouped.subquery()
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


def _tell(connection: Connection, activation: Activation, changed: Changed, now: datetime) -> None:
    of_others = _GROUPED.where(latest_procedures.c.pack_digest != activation.pack_digest)
    for situation in changed(_situations(connection, of_others)):
        _supersede(connection, activation.number, situation, now)


def _supersede(connection: Connection, number: int, situation: Situation, now: datetime) -> None:
    """One row for each line item of a situation, unless it has one from this activation."""
    concerned = select(
        literal(SUPERSEDED),
        latest_procedures.c.shop,
        latest_procedures.c.reference,
        latest_procedures.c.procedure_id,
        literal(number),
        literal(now, outbox.c.created_at.type),
    ).where(
        and_(
            latest_procedures.c.shop == situation.shop,
            latest_procedures.c.pack_digest == situation.pack_digest,
            latest_procedures.c.stated_key == situation.stated.key,
        )
    )
    columns = ("event", "shop", "reference", "procedure_id", "activation", "created_at")
    connection.execute(inserting(connection, outbox).from_select(columns, concerned).on_conflict_do_nothing())


def _row(activation: Activation) -> dict[str, Any]:
    return {name: getattr(activation, name) for name in _MEMBERS}


def _activation(row: Row[Any]) -> Activation:
    return Activation(**{name: getattr(row, name) for name in _MEMBERS})


_MEMBERS = ("number", "pack_digest", "effective_from", "activated_at", "origin")
