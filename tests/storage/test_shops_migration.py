from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
import sqlalchemy as sa
from kept_versions import CRACK, DENT, everything, issue, keep_proven, told, versions
from stepping import step_to

from rules.pack import Pack
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store

ISSUED = ("procedures", "line_items", "latest_procedures", "outbox")
# What a later step makes anew, or takes away.
LATER = {"outbox": {"id", "delivered_at", "activation"}}


def rows(store: Store) -> dict[str, list[dict[str, Any]]]:
    """What stands in the tables of what was issued, the shop left out."""

    def same(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
        return {k: v for k, v in sorted(row.items()) if k not in {"shop"} | LATER.get(table, set())}

    with store._engine.connect() as connection:
        return {
            table: sorted((same(table, row) for row in read.mappings()), key=repr)
            for table in ISSUED
            for read in [connection.execute(sa.text(f"SELECT * FROM {table}"))]
        }


def issued(store: Store, pack: Pack) -> list[KeptProcedure]:
    """Procedures under a first pack, then a second one in force, so that line items were told."""
    first, second = versions(pack)
    keep_proven(store, first, second)
    store.activations.activate(LOCAL, first.digest, 0, "api", everything)
    found = [issue(store, first, "R1"), issue(store, first, "R1", DENT), issue(store, first, "ü 2")]
    store.activations.activate(LOCAL, second.digest, 1, "api", everything)
    return found


def test_what_was_issued_before_there_were_shops_is_that_of_local(empty_store: Store, pack: Pack) -> None:
    procedures = issued(empty_store, pack)
    before, outbox = rows(empty_store), told(empty_store)
    assert {table: len(found) for table, found in before.items()} == {
        "procedures": 3,
        "line_items": 3,
        "latest_procedures": 2,
        "outbox": 2,
    }
    step_to(empty_store._engine, "0002")
    assert not {"shops", "api_keys"} & set(sa.inspect(empty_store._engine).get_table_names())
    assert rows(empty_store) == before
    step_to(empty_store._engine, "head")
    assert rows(empty_store) == before
    # Below, a decision is named by its number: here the second one.
    assert told(empty_store) == [(event, reference, id_, 2) for event, reference, id_, _ in outbox]
    assert [empty_store.procedure(LOCAL, each.id) for each in procedures] == procedures
    assert empty_store.procedures_of(LOCAL, "R1", limit=5).items == (procedures[1], procedures[0])
    assert {each.shop for each in empty_store.activations.situations(LOCAL)} == {LOCAL}


def test_the_outbox_counts_on_after_the_step(empty_store: Store, pack: Pack) -> None:
    issued(empty_store, pack)
    step_to(empty_store._engine, "0002")
    step_to(empty_store._engine, "head")
    first, _ = versions(pack)
    issue(empty_store, versions(pack)[1], "R9", CRACK)
    empty_store.activations.activate(LOCAL, first.digest, 2, "api", everything)
    assert [reference for _, reference, _, _ in told(empty_store)][2:] == ["R9"]


def test_an_empty_database_goes_down_and_up(empty_store: Store) -> None:
    step_to(empty_store._engine, "0002")
    step_to(empty_store._engine, "head")
    assert [shop.id for shop in empty_store.shops.all()] == [LOCAL]


def test_what_other_shops_were_issued_does_not_become_that_of_local(empty_store: Store, pack: Pack) -> None:
    """Going back to a database without shops must not show one shop the line items of another."""
    (first,) = versions(pack, 1)
    keep_proven(empty_store, first)
    empty_store.shops.create("north", "The shop in the north", "command line")
    own, other = issue(empty_store, first, "R1"), issue(empty_store, first, "R1", shop="north")
    step_to(empty_store._engine, "0002")
    assert [row["id"] for row in rows(empty_store)["procedures"]] == [own.id]
    step_to(empty_store._engine, "head")
    assert empty_store.procedure(LOCAL, own.id) == own
    assert empty_store.procedure(LOCAL, other.id) is None


@pytest.mark.parametrize("table", ISSUED)
def test_no_copy_is_left_behind(empty_store: Store, pack: Pack, table: str) -> None:
    issued(empty_store, pack)
    for revision in ("0002", "head"):
        step_to(empty_store._engine, revision)
        assert f"kept_{table}" not in sa.inspect(empty_store._engine).get_table_names()
