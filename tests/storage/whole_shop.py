"""A shop with rows in every table that holds something of shops."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from threading import Event

from kept_versions import CRACK, DENT, issue, nothing
from sqlalchemy import Table, func, select
from webhooks_kept import ANSWERED, claim, webhook

from planning.learning.model import Spell
from rules.pack import Pack
from storage.actual_records import Report
from storage.belongings import belongings
from storage.idempotency import Asked
from storage.records import StatedFacts
from storage.store import Store
from storage.tables import metadata

ORIGIN = "command line"
NORTH, SOUTH = "north", "south"


def whole_shop(store: Store, pack: Pack, shop: str, line_items: int = 2) -> None:
    """A new shop, which has the facts of its line items and the text of its rule pack from nobody else."""
    store.shops.create(shop, f"The shop {shop}", ORIGIN)
    store.keys.create(shop, "front desk", ["line-items"], ORIGIN)
    store.links.secret_of(shop)
    store.idempotency.begin(shop, [Asked("key", "0" * 64)])
    told = webhook(store, shop=shop)
    own = replace(pack, digest=f"sha256:{shop}", name=shop)
    store.packs.keep(shop, own)
    store.packs.keep_proof(shop, own.digest, True, {"passed": True})
    store.activations.activate(shop, own.digest, 0, "api", nothing)
    for number in range(line_items):
        issue(store, own, f"S{number}", (CRACK, DENT)[number % 2], shop)
        stated = StatedFacts(f"material of {shop}", {"length_mm": number})
        procedure = issue(store, own, f"R{number}", stated, shop)
        store.actuals.keep(shop, procedure.id, [Report("groove", Spell(20.0 + number), 20.0, 0.3)])
    store.claims.delivered(claim(store, told), ANSWERED)


@contextmanager
def written_meanwhile(store: Store, pack: Pack) -> Iterator[list[str]]:
    """Two who issue procedures all the while; the ids of those that were acknowledged until now."""
    noted: list[str] = []
    stop, enough = Event(), Event()

    def work(mine: int) -> None:
        number = 0
        while not stop.is_set():
            noted.append(issue(store, pack, f"W{mine}-{number}").id)
            number += 1
            if number > 20:
                enough.set()

    with ThreadPoolExecutor(2) as threads:
        working = [threads.submit(work, each) for each in range(2)]
        try:
            assert enough.wait(60)
            yield noted
        finally:
            stop.set()
        for each in working:
            each.result()


def rows_of(store: Store, shop: str) -> dict[str, int]:
    """How many rows a shop has in each table."""
    with store._engine.connect() as connection:
        return {
            table.name: connection.scalar(select(func.count()).select_from(table).where(named == shop)) or 0
            for table, named in belongings().items()
        }


def rows(store: Store) -> dict[str, list[str]]:
    """Everything there is but the audit, table by table."""
    with store._engine.connect() as connection:
        return {
            table.name: sorted(str(tuple(row)) for row in connection.execute(select(table)))
            for table in metadata.sorted_tables
            if table.name != "audit"
        }


def texts(store: Store, *left_out: Table) -> str:
    """All that stands in all tables, as one text."""
    with store._engine.connect() as connection:
        return "\n".join(
            str(tuple(row))
            for table in metadata.sorted_tables
            if table not in left_out
            for row in connection.execute(select(table))
        )
