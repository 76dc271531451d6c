"""Writes issued procedures, one or many at once, table by table.

Every transaction writes the tables in this order and the rows of each in the order of their keys, so that of
two at once one waits for the other, and never both.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.exc import IntegrityError

from storage.database import inserting
from storage.events import Told, tell
from storage.faults import PackNotKept
from storage.records import KeptProcedure, StatedFacts, json_text
from storage.tables import latest_procedures, line_items, procedures, stated_facts
from storage.webhook_records import ISSUED

Issue = tuple[KeptProcedure, StatedFacts]
"""A procedure, and what its line item states."""

Rows = list[dict[str, Any]]


def write(connection: Connection, shop: str, issues: Sequence[Issue]) -> None:
    """Write procedures in the order they were issued, each a little later than the one before.

    A line item that did not have its procedure yet is an event. Raises PackNotKept.
    """
    now = datetime.now(UTC)
    rows = [_rows(shop, *issue, now + timedelta(microseconds=i)) for i, issue in enumerate(issues)]
    try:
        _insert(connection, procedures, [row["procedure"] for row in rows])
    except IntegrityError as error:
        digests = ", ".join(sorted({procedure.pack_digest for procedure, _ in issues}))
        raise PackNotKept(f"a pack of these is not kept: {digests}") from error
    new = _insert_line_items(connection, [row["line_item"] for row in rows])
    _insert(connection, stated_facts, [row["stated"] for row in rows])
    _insert(connection, latest_procedures, [row["latest"] for row in rows], _LATEST)
    tell(connection, shop, ISSUED, new, now)


_LATEST = ("procedure_id", "pack_digest", "stated_key", "issued_at")


def _insert_line_items(connection: Connection, rows: Rows) -> list[Told]:
    """Those that were not there; of two transactions at once with the same, one gets it."""
    new = connection.execute(
        inserting(connection, line_items)
        .on_conflict_do_nothing()
        .returning(line_items.c.reference, line_items.c.procedure_id),
        _in_order(line_items, rows),
    ).all()
    if len(new) < len(rows):
        _insert(connection, line_items, rows, ("issued_at",))
    return [(row.reference, row.procedure_id) for row in new]


def _insert(connection: Connection, table: Table, rows: Rows, renewed: Sequence[str] = ()) -> None:
    """Insert rows; where one is there already, renew these columns of it, unless it was issued later."""
    statement = inserting(connection, table)
    if renewed:
        statement = statement.on_conflict_do_update(
            index_elements=table.primary_key,
            set_={name: statement.excluded[name] for name in renewed},
            where=table.c.issued_at <= statement.excluded.issued_at,
        )
    else:
        statement = statement.on_conflict_do_nothing()
    connection.execute(statement, _in_order(table, rows))


def _in_order(table: Table, rows: Rows) -> Rows:
    keys = [column.name for column in table.primary_key]
    return sorted(rows, key=lambda row: [row[key] for key in keys])


def _rows(
    shop: str, procedure: KeptProcedure, stated: StatedFacts, now: datetime
) -> Mapping[str, dict[str, Any]]:
    """What one procedure is kept as."""
    issued = {"pack_digest": procedure.pack_digest, "issued_at": now}
    named = {"shop": shop, "reference": procedure.reference, "procedure_id": procedure.id}
    return {
        "procedure": {
            "shop": shop,
            "id": procedure.id,
            "document": json_text(procedure.document),
            "facts": json_text(procedure.facts),
            **issued,
        },
        "line_item": {**named, "issued_at": now},
        "stated": {
            "key": stated.key,
            "material": stated.material,
            "facts": json_text(dict(stated.facts)),
        },
        "latest": {**named, "stated_key": stated.key, **issued},
    }
