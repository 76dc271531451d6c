from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from kept_versions import everything, issue, keep_proven, versions
from stepping import step_to

from rules.pack import Pack
from storage.shops import LOCAL
from storage.store import Store

BEFORE, AFTER = "0006", "0007"
NORTH = "north"


def rows(store: Store, table: str, *columns: str) -> list[tuple[Any, ...]]:
    with store._engine.connect() as connection:
        query = f"SELECT {', '.join(columns)} FROM {table} ORDER BY {', '.join(columns)}"
        return [tuple(row) for row in connection.execute(sa.text(query))]


def tables(store: Store) -> set[str]:
    return set(sa.inspect(store._engine).get_table_names())


def used_by_local(store: Store, pack: Pack) -> list[Pack]:
    """Two packs that were in force in turn, so that a line item was told, and one that is only kept."""
    first, second, third = versions(pack, 3)
    keep_proven(store, first, second)
    store.packs.keep(LOCAL, third, [{"code": "R201"}])
    store.activations.activate(LOCAL, first.digest, 0, "start", everything)
    issue(store, first, "R1")
    store.activations.activate(LOCAL, second.digest, 1, "api", everything)
    return [first, second, third]


OLD = {
    "packs": ("digest", "name", "version", "files", "kept_at", "findings"),
    "proofs": ("pack_digest", "passed", "document", "proven_at"),
    "activations": ("number", "pack_digest", "effective_from", "activated_at", "origin"),
    "outbox": ("event", "shop", "reference", "procedure_id", "activation"),
}


def test_what_was_there_before_shops_had_packs_is_that_of_the_service(empty_store: Store, pack: Pack) -> None:
    first, second, third = used_by_local(empty_store, pack)
    step_to(empty_store._engine, BEFORE)
    before = {table: rows(empty_store, table, *columns) for table, columns in OLD.items()}
    assert [len(found) for found in before.values()] == [3, 2, 2, 1]
    assert "kept_packs" not in tables(empty_store)
    step_to(empty_store._engine, "head")
    found = empty_store.packs.page(LOCAL, 5).items
    assert {each.digest: each.proven for each in found} == {
        first.digest: True,
        second.digest: True,
        third.digest: None,
    }
    assert [each.findings for each in found if each.digest == third.digest] == [[{"code": "R201"}]]
    last = empty_store.activations.last(LOCAL)
    assert last is not None
    assert (last.key, last.number, last.pack_digest, last.origin) == (2, 2, second.digest, "api")
    assert rows(empty_store, "outbox", *OLD["outbox"]) == before["outbox"]
    assert empty_store.audit.verify().faults == ()
    # Down once more, all of it is as it was.
    step_to(empty_store._engine, BEFORE)
    assert {table: rows(empty_store, table, *columns) for table, columns in OLD.items()} == before


def test_what_other_shops_decided_is_gone_below_and_the_service_counts_as_it_did(
    empty_store: Store, pack: Pack
) -> None:
    first, second, third = used_by_local(empty_store, pack)
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    keep_proven(empty_store, third, shop=NORTH)
    issue(empty_store, second, "theirs", shop=NORTH)
    earlier = empty_store.activations.last(LOCAL)
    assert earlier is not None
    theirs = [
        empty_store.activations.activate(shop, digest, after, "api", everything)
        for shop, digest, after in ((NORTH, third.digest, 0), (NORTH, None, 1), (LOCAL, first.digest, 2))
    ]
    told = rows(empty_store, "outbox", "shop", "reference", "activation")
    assert told == [(LOCAL, "R1", earlier.key), *((NORTH, "theirs", each.key) for each in theirs)]
    step_to(empty_store._engine, BEFORE)
    assert rows(empty_store, "activations", "number", "pack_digest") == [
        (1, first.digest),
        (2, second.digest),
        (3, first.digest),
    ]
    assert rows(empty_store, "outbox", "shop", "reference", "activation") == [
        (LOCAL, "R1", 2),
        (NORTH, "theirs", 3),
    ]
    assert [digest for (digest,) in rows(empty_store, "proofs", "pack_digest")] == [
        first.digest,
        second.digest,
    ]
    step_to(empty_store._engine, "head")
    assert empty_store.packs.find(NORTH, third.digest) is None
    assert empty_store.activations.last(NORTH) is None
    activation = empty_store.activations.activate(LOCAL, second.digest, 3, "api", everything)
    assert activation.number == 4


def test_the_outbox_is_still_held_to_activations_that_there_are(empty_store: Store, pack: Pack) -> None:
    used_by_local(empty_store, pack)
    for revision in (BEFORE, AFTER):
        step_to(empty_store._engine, revision)
        with pytest.raises(sa.exc.IntegrityError), empty_store._engine.begin() as connection:
            connection.execute(sa.text("UPDATE outbox SET activation = 77"))


def test_no_copy_is_left_behind_and_the_present_shape_is_reached(empty_store: Store, pack: Pack) -> None:
    before = tables(empty_store)
    used_by_local(empty_store, pack)
    for revision in (BEFORE, "head"):
        step_to(empty_store._engine, revision)
        assert not tables(empty_store) & {"kept_proofs", "kept_activations"}
    assert tables(empty_store) == before


@pytest.mark.parametrize("revision", [BEFORE, "0002"])
def test_an_empty_database_goes_down_and_up(empty_store: Store, revision: str) -> None:
    before = tables(empty_store)
    step_to(empty_store._engine, revision)
    step_to(empty_store._engine, "head")
    assert tables(empty_store) == before
