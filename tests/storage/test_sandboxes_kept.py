"""Sandboxes of shops: made on demand, one a shop, with keys that are written as what they are."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from kept_versions import CRACK, issue, keep_proven, versions
from stepping import step_to

from rules.pack import Pack
from storage.faults import ShopRefused
from storage.key_records import WrittenKey
from storage.sandboxes import KEEP_DAYS, is_sandbox, real_shop, sandbox_id
from storage.shops import LOCAL
from storage.store import Store

NORTH, OF_NORTH = "north", "north~sandbox"


@pytest.fixture
def with_north(empty_store: Store) -> Store:
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    return empty_store


def sandbox_key(store: Store, shop: str = NORTH) -> WrittenKey:
    return store.keys.create(shop, "integrator", ["line-items"], "command line", sandbox=True)


def sandboxes(store: Store) -> list[tuple[str, str]]:
    with store._engine.connect() as connection:
        query = "SELECT id, sandbox_of FROM shops WHERE sandbox_of IS NOT NULL ORDER BY id"
        return [(row.id, row.sandbox_of) for row in connection.execute(sa.text(query))]


def test_a_sandbox_is_made_with_its_first_key_and_only_once(with_north: Store) -> None:
    assert sandboxes(with_north) == []
    first, second = sandbox_key(with_north), sandbox_key(with_north)
    sandbox_key(with_north, LOCAL)
    assert sandboxes(with_north) == [("local~sandbox", LOCAL), (OF_NORTH, NORTH)]
    found = [with_north.keys.find(each, datetime.now(UTC)) for each in (first, second)]
    assert [each and each.shop for each in found] == [OF_NORTH, OF_NORTH]
    (made,) = [shop for shop in with_north.shops.all() if shop.id == OF_NORTH]
    assert made.keep_days == KEEP_DAYS
    assert with_north.audit.verify().faults == ()


def test_a_key_of_a_sandbox_says_so_and_holds_only_where_it_says_so(with_north: Store) -> None:
    written = sandbox_key(with_north)
    real = with_north.keys.create(NORTH, "front desk", ["line-items"], "command line")
    assert written.text.startswith("sw_sandbox_")
    assert WrittenKey.read(written.text) == written
    now = datetime.now(UTC)
    assert with_north.keys.find(replace(written, sandbox=False), now) is None
    assert with_north.keys.find(replace(real, sandbox=True), now) is None
    assert with_north.keys.find(real, now) is not None


def test_a_rotated_key_of_a_sandbox_stays_one(with_north: Store) -> None:
    old = sandbox_key(with_north)
    new = with_north.keys.rotate(old.prefix, datetime.now(UTC), "command line")
    assert new.text.startswith("sw_sandbox_")
    found = with_north.keys.find(new, datetime.now(UTC))
    assert found is not None
    assert found.shop == OF_NORTH


def test_the_keys_of_a_shop_are_listed_with_those_of_its_sandbox(with_north: Store) -> None:
    real = with_north.keys.create(NORTH, "front desk", ["line-items"], "command line")
    written = sandbox_key(with_north)
    sandbox_key(with_north, LOCAL)
    assert [key.prefix for key in with_north.keys.all(NORTH)] == [real.prefix, written.prefix]
    assert [key.prefix for key in with_north.keys.all(OF_NORTH)] == [written.prefix]


@pytest.mark.parametrize("sandbox", [False, True])
def test_a_sandbox_has_no_sandbox_and_its_keys_are_asked_for_by_its_shop(
    with_north: Store, sandbox: bool
) -> None:
    sandbox_key(with_north)
    with pytest.raises(ShopRefused, match="is a sandbox; name the shop 'north' and say `sandbox`"):
        with_north.keys.create(OF_NORTH, "x", ["line-items"], "command line", sandbox=sandbox)


def test_a_shop_with_a_very_long_id_has_no_sandbox(empty_store: Store) -> None:
    with empty_store._engine.begin() as connection:
        made = {"id": "n" * 57, "name": "x", "now": datetime.now(UTC)}
        connection.execute(
            sa.text("INSERT INTO shops (id, name, created_at) VALUES (:id, :name, :now)"), made
        )
    with pytest.raises(ShopRefused, match="is too long for a sandbox"):
        sandbox_key(empty_store, "n" * 57)


def test_what_is_issued_in_a_sandbox_is_kept_apart(with_north: Store, pack: Pack) -> None:
    (only,) = versions(pack, 1)
    keep_proven(with_north, only)
    sandbox_key(with_north)
    tried, real = issue(with_north, only, "R1", CRACK, OF_NORTH), issue(with_north, only, "R1", CRACK, NORTH)
    assert with_north.procedures_of(NORTH, "R1", limit=5).items == (real,)
    assert with_north.procedures_of(OF_NORTH, "R1", limit=5).items == (tried,)
    assert with_north.procedure(NORTH, tried.id) is None


def test_a_database_goes_back_and_forth_with_its_sandboxes(with_north: Store) -> None:
    real = with_north.keys.create(NORTH, "front desk", ["line-items"], "command line")
    written = sandbox_key(with_north)
    step_to(with_north._engine, "0008")
    columns = {column["name"] for column in sa.inspect(with_north._engine).get_columns("shops")}
    assert "sandbox_of" not in columns
    step_to(with_north._engine, "head")
    assert sandboxes(with_north) == [(OF_NORTH, NORTH)]
    for key in (real, written):
        assert with_north.keys.find(key, datetime.now(UTC)) is not None


def test_ids_lead_to_the_sandbox_and_back() -> None:
    assert sandbox_id(NORTH) == OF_NORTH
    assert (is_sandbox(NORTH), is_sandbox(OF_NORTH)) == (False, True)
    assert real_shop(OF_NORTH) == real_shop(NORTH) == NORTH
