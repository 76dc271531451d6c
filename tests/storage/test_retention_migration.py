from __future__ import annotations

import sqlalchemy as sa
from kept_versions import issue
from stepping import step_to
from whole_shop import ORIGIN, rows, whole_shop

from planning.learning.model import Spell
from rules.pack import Pack
from storage.actual_records import Report
from storage.store import Store

ADDED = {"estimates": {"removed_jobs", "removed_total", "removed_squares"}, "shops": {"keep_days"}}


def columns(store: Store, table: str) -> set[str]:
    return {column["name"] for column in sa.inspect(store._engine).get_columns(table)}


def indexes(store: Store) -> set[str]:
    inspected = sa.inspect(store._engine)
    tables = ("line_items", "latest_procedures", "outbox")
    return {str(index["name"]) for table in tables for index in inspected.get_indexes(table)}


def test_what_links_and_retention_need_comes_and_goes_with_its_step(empty_store: Store, pack: Pack) -> None:
    whole_shop(empty_store, pack, "north")
    empty_store.shops.keep("north", 400, ORIGIN)
    before, secret = rows(empty_store), empty_store.links.secret_of("north")
    step_to(empty_store._engine, "0007")
    assert "link_secrets" not in sa.inspect(empty_store._engine).get_table_names()
    assert all(not names & columns(empty_store, table) for table, names in ADDED.items())
    assert not {name for name in indexes(empty_store) if name.endswith(("_by_procedure", "_by_stated"))}
    step_to(empty_store._engine, "head")
    assert all(names <= columns(empty_store, table) for table, names in ADDED.items())
    assert {"line_items_by_procedure", "latest_procedures_by_stated"} <= indexes(empty_store)
    changed = {name for name, kept in rows(empty_store).items() if kept != before[name]}
    assert changed == {"link_secrets", "shops"}
    assert {shop.keep_days for shop in empty_store.shops.all()} == {None}
    assert empty_store.links.find(secret.handle) is None


def test_estimates_from_before_the_step_are_built_on(empty_store: Store, pack: Pack) -> None:
    whole_shop(empty_store, pack, "north")
    learned = empty_store.estimates.of_shop("north")["groove"].sums
    step_to(empty_store._engine, "0007")
    step_to(empty_store._engine, "head")
    assert empty_store.estimates.of_shop("north")["groove"].sums == learned
    empty_store.keep_pack(pack)
    kept = issue(empty_store, pack, "R9", shop="north")
    empty_store.actuals.keep("north", kept.id, [Report("groove", Spell(20.0), 20.0, 0.3)])
    assert empty_store.estimates.of_shop("north")["groove"].sums.count == learned.count + 1
