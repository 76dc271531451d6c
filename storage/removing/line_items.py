"""Takes old line items away, with their procedures and the reports on them; what was learned stays.

A line item is as old as its last issue. It goes some hundred at a time, each time in a transaction with its
audit entry, so that a running service waits for a moment at most; what is issued anew meanwhile stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from time import sleep

from sqlalchemy import ColumnElement, Connection, Engine, and_, delete, exists, func, select

from storage import audit
from storage.belongings import references_to
from storage.database import hold, reading, writing
from storage.estimates import keep_sums
from storage.removing.unused import remove_unused
from storage.shops import refuse_unknown
from storage.tables import actuals, latest_procedures, line_items, procedures, stated_facts

REMOVED = "line_items.removed"

AT_ONCE = 200
"""So many line items go in one transaction."""

PAUSE_S = 0.1
"""So long the others have their turn; whoever waits for SQLite looks again within this time."""


@dataclass(frozen=True)
class Removed:
    """How many line items, procedures, and reports on them."""

    line_items: int = 0
    procedures: int = 0
    reports: int = 0

    def __add__(self, other: Removed) -> Removed:
        return Removed(
            self.line_items + other.line_items,
            self.procedures + other.procedures,
            self.reports + other.reports,
        )


class OldLineItems:
    """Those of one database. Every method may raise StoreUnavailable, and ShopUnknown."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def count(self, shop: str, before: datetime) -> Removed:
        """What would go of a shop that was last issued before a moment."""
        with reading(self._engine) as connection:
            refuse_unknown(connection, shop)
            return _count(connection, shop, before)

    def remove(self, shop: str, before: datetime, origin: str) -> Iterator[Removed]:
        """Take it away, some at a time; gives what has gone each time. `origin` says who decided."""
        after: str | None = ""
        while after is not None:
            with writing(self._engine) as connection:
                refuse_unknown(connection, shop)
                # Whoever issues ends first; nobody is half way when what it builds on goes.
                hold(connection, procedures)
                references = _old(connection, shop, before, after)
                removed = _remove(connection, shop, references)
                if references:
                    told = {"shop": shop, "before": audit.moment(before), "origin": origin, **vars(removed)}
                    audit.append(connection, REMOVED, told, datetime.now(UTC))
            after = references[-1] if len(references) == AT_ONCE else None
            yield removed
            if after is not None:
                sleep(PAUSE_S)
        with writing(self._engine) as connection:
            # Also what a line item stated before it was issued last.
            remove_unused(connection, stated_facts)


def _is_old(shop: str, before: datetime) -> ColumnElement[bool]:
    return and_(latest_procedures.c.shop == shop, latest_procedures.c.issued_at < before)


def _old(connection: Connection, shop: str, before: datetime, after: str) -> Sequence[str]:
    """References, in their order, that come after one."""
    query = (
        select(latest_procedures.c.reference)
        .where(_is_old(shop, before), latest_procedures.c.reference > after)
        .order_by(latest_procedures.c.reference)
        .limit(AT_ONCE)
    )
    return connection.scalars(query).all()


def _remove(connection: Connection, shop: str, references: Sequence[str]) -> Removed:
    of_them = and_(line_items.c.shop == shop, line_items.c.reference.in_(references))
    latest = and_(latest_procedures.c.shop == shop, latest_procedures.c.reference.in_(references))
    ids = set(connection.scalars(select(line_items.c.procedure_id).where(of_them)))
    connection.execute(delete(line_items).where(of_them))
    connection.execute(delete(latest_procedures).where(latest))
    reports = _remove_procedures(connection, shop, gone := ids - _in_use(connection, shop, ids))
    return Removed(len(references), len(gone), reports)


def _in_use(connection: Connection, shop: str, ids: set[str]) -> set[str]:
    """Those of other line items too."""
    others = select(line_items.c.procedure_id).where(line_items.c.shop == shop)
    return set(connection.scalars(others.where(line_items.c.procedure_id.in_(ids))))


def _remove_procedures(connection: Connection, shop: str, ids: set[str]) -> int:
    """With all that hangs on them; returns how many reports."""
    keep_sums(connection, shop, ids)
    counts = {}
    for key in references_to(procedures):
        of_them = delete(key.table).where(key.table.c.shop == shop, key.table.c.procedure_id.in_(ids))
        counts[key.table] = connection.execute(of_them).rowcount
    connection.execute(delete(procedures).where(procedures.c.shop == shop, procedures.c.id.in_(ids)))
    return counts[actuals]


def _count(connection: Connection, shop: str, before: datetime) -> Removed:
    old = select(latest_procedures.c.reference).where(_is_old(shop, before))
    kept = line_items.alias()
    of_others = exists().where(
        kept.c.shop == shop,
        kept.c.procedure_id == line_items.c.procedure_id,
        kept.c.reference.not_in(old),
    )
    going = (
        select(line_items.c.procedure_id)
        .where(line_items.c.shop == shop, line_items.c.reference.in_(old), ~of_others)
        .distinct()
    )
    reports = select(func.count()).where(actuals.c.shop == shop, actuals.c.procedure_id.in_(going))
    return Removed(
        connection.scalar(select(func.count()).select_from(old.subquery())) or 0,
        connection.scalar(select(func.count()).select_from(going.subquery())) or 0,
        connection.scalar(reports) or 0,
    )
