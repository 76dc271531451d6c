"""What the stages of procedures really took, as shops report it. A report never changes.

A stage of a procedure has one report that stands. The same report again is no second one, however late it
comes; another one on the same stage is a correction and takes the place of the one before.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, and_, insert, select, update

from planning.learning.guards import impossible
from planning.learning.model import Reason, Spell
from storage.actual_records import KeptActual, Report, State, Taken
from storage.database import guarded, writing
from storage.estimates import recount
from storage.events import tell
from storage.faults import CursorRefused
from storage.records import Page, Position
from storage.tables import actuals, estimates, line_items
from storage.webhook_records import REPORTED

AT_ONCE = 1000
"""So many rows are read at once."""

LONGEST_NUMBER = 18
"""Digits; what has more is no number of a row."""


class Actuals:
    """The reports of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def keep(self, shop: str, procedure_id: str, reports: Sequence[Report]) -> tuple[Taken, ...]:
        """Keep reports on a procedure, each on another stage, and count what counts.

        Returns what has become of each, in order. Where one is not a repetition, that is an event.
        """
        with writing(self._engine) as connection:
            taken = [_take(connection, shop, procedure_id, report) for report in reports]
            if not all(repeated for _, repeated in taken):
                about = [(_reference(connection, shop, procedure_id), procedure_id)]
                tell(connection, shop, REPORTED, about, datetime.now(UTC))
            numbers = [number for number, _ in taken]
            found = _all(connection, _KEPT.where(actuals.c.number.in_(numbers)))
        kept = {each.number: each for each in found}
        return tuple(Taken(kept[number], repeated) for number, repeated in taken)

    def of_procedure(
        self, shop: str, procedure_id: str, limit: int = AT_ONCE, after: str | None = None
    ) -> Page[KeptActual]:
        """Reports on a procedure, those that were replaced too, in the order they came.

        At most `limit` from the cursor `after` on. Raises CursorRefused for one of another list.
        """
        query = _KEPT.where(actuals.c.shop == shop, actuals.c.procedure_id == procedure_id)
        if after is not None:
            query = query.where(actuals.c.number > _number_at(after))
        with guarded(self._engine), self._engine.connect() as connection:
            found = _all(connection, query.limit(limit + 1))
        shown = found[:limit]
        return Page(shown, _cursor_at(shown[-1]) if len(found) > limit else None)

    def of_shop(self, shop: str) -> Iterator[KeptActual]:
        """Every report of a shop, in the order they came, read as they are asked for."""
        after = 0
        while True:
            query = _KEPT.where(actuals.c.shop == shop, actuals.c.number > after).limit(AT_ONCE)
            with guarded(self._engine), self._engine.connect() as connection:
                found = _all(connection, query)
            yield from found
            if len(found) < AT_ONCE:
                return
            after = found[-1].number


_KEPT = (
    select(actuals, estimates.c.frozen_after)
    .join_from(
        actuals,
        estimates,
        and_(estimates.c.shop == actuals.c.shop, estimates.c.stage == actuals.c.stage),
        isouter=True,
    )
    .order_by(actuals.c.number)
)


def _cursor_at(actual: KeptActual) -> str:
    return Position(actual.reported_at, str(actual.number)).as_cursor()


def _number_at(cursor: str) -> int:
    key = Position.from_cursor(cursor).key
    if not key.isdecimal() or len(key) > LONGEST_NUMBER:
        raise CursorRefused(f"{cursor[:80]!r} is a cursor of another list")
    return int(key)


def _all(connection: Connection, query: Select[Any]) -> tuple[KeptActual, ...]:
    return tuple(_kept(row) for row in connection.execute(query))


def _take(connection: Connection, shop: str, procedure_id: str, report: Report) -> tuple[int, bool]:
    """The number of a report, and whether it was kept before."""
    number = _number(connection, shop, procedure_id, report)
    if number is not None:
        return number, True
    number = _insert(connection, shop, procedure_id, report)
    recount(connection, shop, report.stage)
    return number, False


def _reference(connection: Connection, shop: str, procedure_id: str) -> str:
    """The line item that was issued a procedure last."""
    query = select(line_items.c.reference).where(
        line_items.c.shop == shop, line_items.c.procedure_id == procedure_id
    )
    found: str = connection.scalars(query.order_by(line_items.c.issued_at.desc()).limit(1)).one()
    return found


def _number(connection: Connection, shop: str, procedure_id: str, report: Report) -> int | None:
    """The number of a report with this very content."""
    number: int | None = connection.scalar(
        select(actuals.c.number).where(
            actuals.c.shop == shop,
            actuals.c.procedure_id == procedure_id,
            actuals.c.stage == report.stage,
            actuals.c.content == report.content,
        )
    )
    return number


def _insert(connection: Connection, shop: str, procedure_id: str, report: Report) -> int:
    """Its number. It takes the place of the report on this stage that stood so far."""
    stands = (
        actuals.c.shop == shop,
        actuals.c.procedure_id == procedure_id,
        actuals.c.stage == report.stage,
        actuals.c.replaced_by.is_(None),
    )
    before = connection.execute(select(actuals).where(*stands)).first()
    reason = impossible(report.spell, report.predicted_min)
    row = {
        **_columns(report),
        "shop": shop,
        "procedure_id": procedure_id,
        "reported_at": datetime.now(UTC),
        "reason": reason and reason.value,
        # The job is as old as it was.
        "before_reset": before is not None and before.before_reset,
    }
    number: int = connection.scalars(insert(actuals).values(row).returning(actuals.c.number)).one()
    if before is not None:
        connection.execute(
            update(actuals).where(actuals.c.number == before.number).values(replaced_by=number)
        )
    return number


def _columns(report: Report) -> dict[str, Any]:
    start, end = report.spell.started_at, report.spell.ended_at
    return {
        "stage": report.stage,
        "content": report.content,
        "work_min": report.spell.minutes,
        "started_at": start and start.isoformat(),
        "ended_at": end and end.isoformat(),
        "predicted_min": report.predicted_min,
        "predicted_spread": report.predicted_spread,
        "check_passed": report.check_passed,
        "check_note": report.check_note,
        "remark": report.remark,
    }


def _kept(row: Row[Any]) -> KeptActual:
    if row.started_at is None:
        spell = Spell(work_min=row.work_min)
    else:
        start, end = (datetime.fromisoformat(text) for text in (row.started_at, row.ended_at))
        spell = Spell(started_at=start, ended_at=end)
    report = Report(
        stage=row.stage,
        spell=spell,
        predicted_min=row.predicted_min,
        predicted_spread=row.predicted_spread,
        check_passed=row.check_passed,
        check_note=row.check_note,
        remark=row.remark,
    )
    reason = None if row.reason is None else Reason(row.reason)
    return KeptActual(row.number, row.procedure_id, report, row.reported_at, _state(row), reason)


def _state(row: Row[Any]) -> State:
    if row.replaced_by is not None:
        return State.REPLACED
    if row.before_reset:
        return State.BEFORE_RESET
    if row.reason is not None:
        return State.SET_ASIDE
    if row.frozen_after is not None and row.number > row.frozen_after:
        return State.WHILE_FROZEN
    return State.COUNTED
