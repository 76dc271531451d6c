"""The store: rule packs and issued procedures. What is kept never changes."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, select

from rules.pack import Pack
from storage.activations import Activations
from storage.actuals import Actuals
from storage.audit import Audit
from storage.claims import Claims
from storage.database import engine_for, guarded, refuse_missing_file
from storage.deliveries import Deliveries
from storage.estimates import Estimates
from storage.exporting import Exports
from storage.faults import DifferentDocument, StoreUnavailable
from storage.idempotency import Done, Idempotency, keep_answers
from storage.keeping import Issue, write
from storage.keys import Keys
from storage.links import Links
from storage.migrations import upgrade
from storage.packs import Packs
from storage.paging import beyond, page_of
from storage.records import KeptProcedure, Page, Position, StatedFacts
from storage.removing.line_items import OldLineItems
from storage.removing.sandbox import SandboxReset
from storage.removing.shop import ShopRemoval
from storage.shops import LOCAL, Shops
from storage.tables import line_items, packs, procedures
from storage.webhooks import Webhooks

Answers = Callable[[Sequence[KeptProcedure]], Sequence[Done]]
"""Of procedures as they are kept: the answers to the keys that were begun for them."""


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

    `packs`, `activations` and `audit` are about rule packs, `actuals` and `estimates` about what stages
    really took, `shops`, `keys` and `links` about who asks, `idempotency` about requests made again,
    `webhooks`, `deliveries` and `claims` about telling others, `exports`, `old_line_items` and `shop_removal`
    about taking everything out or away, the methods about procedures.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.packs = Packs(engine)
        self.activations = Activations(engine)
        self.audit = Audit(engine)
        self.actuals = Actuals(engine)
        self.estimates = Estimates(engine)
        self.shops = Shops(engine)
        self.keys = Keys(engine)
        self.links = Links(engine)
        self.exports = Exports(engine)
        self.old_line_items = OldLineItems(engine)
        self.shop_removal = ShopRemoval(engine)
        self.sandbox_reset = SandboxReset(engine)
        self.idempotency = Idempotency(engine)
        self.webhooks = Webhooks(engine)
        self.deliveries = Deliveries(engine)
        self.claims = Claims(engine)

    def ready(self) -> None:
        """Returns when the database answers."""
        with guarded(self._engine), self._engine.connect() as connection:
            connection.execute(select(packs.c.digest).limit(1))

    def close(self) -> None:
        """Give the connections back."""
        self._engine.dispose()

    def keep_pack(self, pack: Pack) -> None:
        """Keep the files of a pack of the service, so that what it decides can be explained."""
        self.packs.keep(LOCAL, pack)

    def pack_files(self, digest: str) -> Mapping[str, Mapping[str, str]] | None:
        """The texts of a kept pack by pack name and path, in the order they were laid; or None."""
        return self.packs.files(digest)

    def keep_procedure(
        self, shop: str, procedure: KeptProcedure, stated: StatedFacts, answers: Answers | None = None
    ) -> KeptProcedure:
        """Keep a procedure for the line item of a shop, which states `stated`, and return it as kept.

        The same procedure again changes nothing but its place among those of the line item: what
        was issued last comes first. Raises DifferentDocument when another document is kept under
        the id, PackNotKept when `keep_pack` was not called for its pack.
        """
        (kept,) = self.keep_procedures(shop, [(procedure, stated)], answers)
        return kept

    def keep_procedures(
        self, shop: str, issues: Sequence[Issue], answers: Answers | None = None
    ) -> list[KeptProcedure]:
        """Keep procedures for line items of a shop, all or none, in the order in which they were issued.

        Returns them as kept. With them is kept what they are answered with to keys that were begun; `answers`
        says it. Raises what `keep_procedure` does.
        """
        if not issues:
            return []
        with guarded(self._engine), self._engine.begin() as connection:
            write(connection, shop, issues)
            kept = _by_ids(connection, shop, [procedure.id for procedure, _ in issues])
            for procedure, _ in issues:
                if procedure.id not in kept or _content(kept[procedure.id]) != _content(procedure):
                    raise DifferentDocument(f"another document is kept under the id {procedure.id}")
            as_kept = [kept[procedure.id] for procedure, _ in issues]
            if answers is not None:
                keep_answers(connection, shop, answers(as_kept))
        return as_kept

    def procedure(self, shop: str, procedure_id: str) -> KeptProcedure | None:
        """The procedure exactly as it was issued to a shop; None also where only others have it."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _by_id(connection, shop, procedure_id)

    def procedures_of(
        self, shop: str, reference: str, limit: int, after: str | None = None
    ) -> Page[KeptProcedure]:
        """What a shop was issued for a line item, last first, at most `limit` from the cursor `after` on.

        Raises CursorRefused for a cursor that did not come from an earlier page.
        """
        query = _newest_first(shop).where(line_items.c.reference == reference).limit(limit + 1)
        if after is not None:
            query = query.where(beyond(after, line_items.c.issued_at, line_items.c.procedure_id))
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(query).all()
        return page_of(rows, limit, _procedure, lambda row: Position(row.last_issued_at, row.id))


_NEWEST_FIRST = (
    select(procedures, line_items.c.reference, line_items.c.issued_at.label("last_issued_at"))
    .join(line_items)
    .order_by(line_items.c.issued_at.desc(), line_items.c.procedure_id.desc())
)


def _newest_first(shop: str) -> Select[Any]:
    return _NEWEST_FIRST.where(line_items.c.shop == shop, procedures.c.shop == shop)


def _by_id(connection: Connection, shop: str, procedure_id: str) -> KeptProcedure | None:
    return _by_ids(connection, shop, [procedure_id]).get(procedure_id)


def _by_ids(connection: Connection, shop: str, ids: Sequence[str]) -> dict[str, KeptProcedure]:
    rows = connection.execute(_newest_first(shop).where(procedures.c.id.in_(ids))).all()
    return {row.id: _procedure(row) for row in reversed(rows)}


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
