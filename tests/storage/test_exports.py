"""Everything that is kept of a shop, and nothing of others, comes out."""

from __future__ import annotations

import json
from collections import Counter
from datetime import datetime

import pytest
from kept_versions import issue
from whole_shop import NORTH, ORIGIN, SOUTH, rows_of

from rules.pack import Pack
from storage import exporting
from storage.exporting import Row
from storage.faults import ShopUnknown
from storage.store import Store


def exported(store: Store, shop: str = NORTH) -> tuple[Row, list[Row]]:
    """The heading, and the rows."""
    heading, *found = store.exports.of_shop(shop)
    return heading, found


def counted(found: list[Row]) -> dict[str, int]:
    return dict(Counter(row.table for row in found))


def test_every_row_of_a_shop_comes_out_and_is_counted_before(two_shops: Store) -> None:
    heading, found = exported(two_shops)
    assert heading.table == "export"
    assert heading.columns["shop"] == NORTH
    assert counted(found) == heading.columns["rows"]
    own = {name: count for name, count in rows_of(two_shops, NORTH).items() if name != "idempotency"}
    assert counted(found) == {**own, "shops": 1, "packs": 1, "stated_facts": 4}


def test_nothing_of_another_shop_comes_out(two_shops: Store) -> None:
    _, found = exported(two_shops)
    assert SOUTH not in json.dumps([row.columns for row in found])


def test_rows_come_out_as_they_are_kept(two_shops: Store) -> None:
    _, found = exported(two_shops)
    procedures = [row.columns for row in found if row.table == "procedures"]
    for procedure in procedures:
        kept = two_shops.procedure(NORTH, procedure["id"])
        assert kept is not None
        assert procedure["document"] == kept.document
        assert datetime.fromisoformat(procedure["issued_at"]) <= kept.issued_at  # type: ignore[operator]
    (shop,) = [row.columns for row in found if row.table == "shops"]
    assert (shop["id"], shop["name"]) == (NORTH, "The shop north")


def test_secrets_stay_inside(two_shops: Store) -> None:
    secret = two_shops.links.secret_of(NORTH)
    _, found = exported(two_shops)
    assert {"api_keys", "link_secrets", "webhooks"} <= counted(found).keys()
    for row in found:
        assert not any("secret" in name and "until" not in name for name in row.columns), row.table
        assert not {"digest", "token"} & row.columns.keys() or row.table == "packs"
    everything = json.dumps([row.columns for row in found])
    assert secret.handle in everything
    assert secret.secret not in everything


@pytest.mark.parametrize("line_items", [0, 1, 4, 5, 6, 10])
def test_no_number_of_rows_is_cut_off_or_given_twice(
    empty_store: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch, line_items: int
) -> None:
    """Also where they fill the stretches that are read at once to the last."""
    monkeypatch.setattr(exporting, "AT_ONCE", 5)
    empty_store.shops.create(NORTH, "The shop in the north", ORIGIN)
    empty_store.keep_pack(pack)
    ids = [issue(empty_store, pack, f"R{number}", shop=NORTH).id for number in range(line_items)]
    heading, found = exported(empty_store)
    assert sorted(row.columns["id"] for row in found if row.table == "procedures") == sorted(ids)
    assert heading.columns["rows"]["line_items"] == line_items


def test_what_is_issued_meanwhile_is_not_in_it(two_shops: Store, pack: Pack) -> None:
    two_shops.keep_pack(pack)
    rows = two_shops.exports.of_shop(NORTH)
    before = next(rows).columns["rows"]
    late = issue(two_shops, pack, "late", shop=NORTH)
    found = list(rows)
    assert counted(found) == {name: count for name, count in before.items() if count}
    assert late.id not in json.dumps([row.columns for row in found])


def test_the_sandbox_comes_out_too(two_shops: Store, pack: Pack) -> None:
    two_shops.keep_pack(pack)
    two_shops.keys.create(NORTH, "trying", ["line-items"], ORIGIN, sandbox=True)
    tried = issue(two_shops, pack, "T1", shop="north~sandbox")
    _, found = exported(two_shops)
    assert tried.id in [row.columns["id"] for row in found if row.table == "procedures"]


def test_a_shop_that_is_not_there_is_told(two_shops: Store) -> None:
    with pytest.raises(ShopUnknown, match="there is no shop 'east'"):
        exported(two_shops, "east")
