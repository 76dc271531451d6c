"""The store: rule packs and issued procedures. What is kept never changes."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, and_, or_, select
from sqlalchemy.exc import IntegrityError

from rules.pack import Pack
from storage.activations import Activations
from storage.audit import Audit
from storage.database import engine_for, guarded, inserting, refuse_missing_file
from storage.faults import DifferentDocument, PackNotKept, StoreUnavailable
from storage.migrations import upgrade
from storage.packs import Packs
from storage.records import KeptProcedure, Page, Position, StatedFacts, json_text
from storage.tables import latest_procedures, line_items, packs, procedures, stated_facts


def open_store(url: str, must_exist: bool = False) -> Store:
    """Connect to the database at `url` and bring it to the present shape. Raises StoreUnavailable.

    A SQLite file that is not there is created, unless it `must_exist`.
    """
    engine = engine_for(url)
    if must_exist:
        refuse_missing_file(engine)
    try:
        with guarded(engine):
            upgrade(engine)
    except StoreUnavailable:
        engine.dispose()
        raise
    return Store(engine)


class Store:
    """One database; safe to use from several threads. Every method may raise StoreUnavailable.

    `packs`, `activations` and `audit` are about rule packs, the methods about procedures.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.packs = Packs(engine)
        self.activations = Activations(engine)
        self.audit = Audit(engine)

    def ready(self) -> None:
        """Returns when the database answers."""
        with guarded(self._engine), self._engine.connect() as connection:
            connection.execute(select(packs.c.digest).limit(1))

    def close(self) -> None:
        """Give the connections back."""
        self._engine.dispose()

    def keep_pack(self, pack: Pack) -> None:
        """Keep the files of a pack, so that what it decided can be explained later. Once is enough."""
        self.packs.keep(pack)

    def pack_files(self, digest: str) -> Mapping[str, Mapping[str, str]] | None:
        """The texts of a kept pack by pack name and path, in the order they were laid; or None."""
        return self.packs.files(digest)

    def keep_procedure(self, procedure: KeptProcedure, stated: StatedFacts) -> KeptProcedure:
        """Keep a procedure for its line item, which states `stated`, and return it as kept.

        The same procedure again changes nothing but its place among those of the line item: what
        was issued last comes first. Raises DifferentDocument when another document is kept under
        the id, PackNotKept when `keep_pack` was not called for its pack.
        """
        with guarded(self._engine), self._engine.begin() as connection:
            _insert(connection, procedure, stated)
            kept = _by_id(connection, procedure.id)
            if kept is None or _content(kept) != _content(procedure):
                raise DifferentDocument(f"another document is kept under the id {procedure.id}")
        return kept

    def procedure(self, procedure_id: str) -> KeptProcedure | None:
        """The procedure exactly as it was issued, or None."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _by_id(connection, procedure_id)

    def procedures_of(self, reference: str, limit: int, after: str | None = None) -> Page[KeptProcedure]:
        """What was issued for a line item, last first, at most `limit` from the cursor `after` on.

        Raises CursorRefused for a cursor that did not come from an earlier page.
        """
        query = _NEWEST_FIRST.where(line_items.c.reference == reference).limit(limit + 1)
        if after is not None:
            end = Position.from_cursor(after)
            query = query.where(
                or_(
                    line_items.c.issued_at < end.moment,
                    and_(
                        line_items.c.issued_at == end.moment,
                        line_items.c.procedure_id < end.key,
                    ),
                )
            )
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(query).all()
        return _page(rows, limit)


_NEWEST_FIRST = (
    select(procedures, line_items.c.reference, line_items.c.issued_at.label("last_issued_at"))
    .join(line_items)
    .order_by(line_items.c.issued_at.desc(), line_items.c.procedure_id.desc())
)


def _by_id(connection: Connection, procedure_id: str) -> KeptProcedure | None:
    row = connection.execute(_NEWEST_FIRST.where(procedures.c.id == procedure_id)).first()
    return None if row is None else _procedure(row)


def _page(rows: Sequence[Row[Any]], limit: int) -> Page[KeptProcedure]:
    shown = rows[:limit]
    more = len(rows) > limit
    last = Position(shown[-1].last_issued_at, shown[-1].id).as_cursor() if more else None
    return Page(tuple(_procedure(row) for row in shown), last)


def _procedure(row: Row[Any]) -> KeptProcedure:
    return KeptProcedure(
        id=row.id,
        reference=row.reference,
        pack_digest=row.pack_digest,
        document=json.loads(row.document),
        facts=json.loads(row.facts),
        issued_at=row.issued_at,
    )


def _content(procedure: KeptProcedure) -> str:
    """What an id stands for: all but the links, which may change with the service."""
    document = {name: value for name, value in procedure.document.items() if name != "links"}
    return json.dumps(document, sort_keys=True)


def _insert(connection: Connection, procedure: KeptProcedure, stated: StatedFacts) -> None:
    now = datetime.now(UTC)
    try:
        connection.execute(
            inserting(connection, procedures)
            .values(
                id=procedure.id,
                document=json_text(procedure.document),
                facts=json_text(procedure.facts),
                pack_digest=procedure.pack_digest,
                issued_at=now,
            )
            .on_conflict_do_nothing()
        )
    except IntegrityError as error:
        raise PackNotKept(f"the pack {procedure.pack_digest} of {procedure.id} is not kept") from error
    connection.execute(
        inserting(connection, line_items)
        .values(reference=procedure.reference, procedure_id=procedure.id, issued_at=now)
        .on_conflict_do_update(index_elements=line_items.primary_key, set_={"issued_at": now})
    )
    _insert_latest(connection, procedure, stated, now)


def _insert_latest(
    connection: Connection, procedure: KeptProcedure, stated: StatedFacts, now: datetime
) -> None:
    connection.execute(
        inserting(connection, stated_facts)
        .values(key=stated.key, material=stated.material, facts=json_text(dict(stated.facts)))
        .on_conflict_do_nothing()
    )
    latest = {
        "procedure_id": procedure.id,
        "pack_digest": procedure.pack_digest,
        "stated_key": stated.key,
        "issued_at": now,
    }
    connection.execute(
        inserting(connection, latest_procedures)
        .values(reference=procedure.reference, **latest)
        .on_conflict_do_update(
            index_elements=latest_procedures.primary_key,
            set_=latest,
            # Of two transactions at once, the one that began later stands, as in the history.
            where=latest_procedures.c.issued_at <= now,
        )
    )
