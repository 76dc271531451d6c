"""Two packs that hold nothing but their names, and line items issued under them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from uuid import uuid4

from sqlalchemy import select

from rules.pack import Pack
from storage.records import KeptProcedure, Situation, StatedFacts
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import outbox

CRACK = StatedFacts("TPO", {"damage_type": "crack", "damage_length_mm": 80.0})
DENT = StatedFacts("ABS", {"damage_type": "dent"})


def versions(pack: Pack, count: int = 2) -> list[Pack]:
    return [replace(pack, digest=f"{number}" * 64, version=f"{number}.0.0") for number in range(1, count + 1)]


def keep_proven(store: Store, *packs: Pack, shop: str = LOCAL) -> None:
    for pack in packs:
        store.packs.keep(shop, pack)
        store.packs.keep_proof(shop, pack.digest, True, {"passed": True})


def issue(
    store: Store, pack: Pack, reference: str, stated: StatedFacts = CRACK, shop: str = LOCAL
) -> KeptProcedure:
    procedure = KeptProcedure(f"pr-{uuid4().hex}", reference, pack.digest, {"disposition": "repair"}, {})
    return store.keep_procedure(shop, procedure, stated)


def everything(situations: Sequence[Situation]) -> Sequence[Situation]:
    return situations


def nothing(_situations: Sequence[Situation]) -> Sequence[Situation]:
    return ()


def told(store: Store) -> list[tuple[Any, ...]]:
    """(event, reference, procedure, activation) of every row of the outbox."""
    query = select(outbox.c.event, outbox.c.reference, outbox.c.procedure_id, outbox.c.activation)
    with store._engine.connect() as connection:
        return [tuple(row) for row in connection.execute(query.order_by(outbox.c.number))]
