"""A shop is taken away with everything that is its own, and with nothing else."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle
from threading import Event, Semaphore

import pytest
import sqlalchemy as sa
from kept_versions import issue
from whole_shop import NORTH, ORIGIN, SOUTH, rows, rows_of, texts, whole_shop

from rules.pack import Pack
from storage.faults import ShopRefused, ShopUnknown
from storage.records import StatedFacts
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import audit


def kept_by_service(store: Store, pack: Pack) -> Pack:
    """A pack of the service, which every shop may be issued procedures under."""
    store.packs.keep(LOCAL, pack)
    return pack


def test_nothing_of_a_shop_is_left_but_what_the_audit_says(two_shops: Store) -> None:
    told = two_shops.shop_removal.rows(NORTH)
    assert told == {name: count for name, count in rows_of(two_shops, NORTH).items() if count}
    two_shops.shop_removal.delete(NORTH, ORIGIN)
    assert not any(rows_of(two_shops, NORTH).values())
    assert NORTH not in texts(two_shops, audit)
    assert [shop.id for shop in two_shops.shops.all()] == [LOCAL, SOUTH]


def test_nothing_of_another_shop_is_gone(empty_store: Store, pack: Pack) -> None:
    whole_shop(empty_store, pack, SOUTH)
    before = rows(empty_store)
    whole_shop(empty_store, pack, NORTH)
    assert rows(empty_store) != before
    empty_store.shop_removal.delete(NORTH, ORIGIN)
    assert rows(empty_store) == before


def test_the_chain_stays_whole_and_says_that_the_shop_was_deleted(two_shops: Store) -> None:
    head = two_shops.audit.verify().head
    two_shops.shop_removal.delete(NORTH, ORIGIN)
    report = two_shops.audit.verify(head)
    assert report.faults == ()
    with two_shops._engine.connect() as connection:
        entries = [json.loads(entry) for entry in connection.scalars(sa.select(audit.c.entry))]
    (last,) = [entry for entry in entries if entry["number"] == report.entries]
    assert (last["action"], last["shop"], last["origin"]) == ("shop.deleted", NORTH, ORIGIN)


def test_what_the_chain_holds_of_a_shop_is_no_line_item(two_shops: Store) -> None:
    """Ids, names, hosts, digests and decisions; and nothing else that came from a line item or a report."""
    two_shops.shop_removal.delete(NORTH, ORIGIN)
    with two_shops._engine.connect() as connection:
        entries = connection.scalars(sa.select(audit.c.entry)).all()
    of_north = [json.loads(entry) for entry in entries if NORTH in entry]
    assert len(of_north) >= 6
    said = {member for entry in of_north for member in entry}
    assert said <= {
        *("number", "at", "action", "origin", "shop", "name", "by", "key", "scopes", "expires_at"),
        *("webhook", "host", "events", "enabled"),
        *("pack", "version", "passed", "activation", "effective_from"),
    }
    assert not any(text in "".join(entries) for text in ('"R0"', "material of", "groove", "pr-"))


def test_the_shop_of_the_service_stays(two_shops: Store) -> None:
    before = rows(two_shops)
    for ask in (two_shops.shop_removal.rows, lambda shop: two_shops.shop_removal.delete(shop, ORIGIN)):
        with pytest.raises(ShopRefused, match="'local' runs the service"):
            ask(LOCAL)
    assert rows(two_shops) == before


def test_a_shop_that_is_not_there_is_told(two_shops: Store) -> None:
    with pytest.raises(ShopUnknown, match="there is no shop 'east'; there are local, north, south"):
        two_shops.shop_removal.delete("east", ORIGIN)


def test_the_sandbox_of_a_shop_goes_with_it(two_shops: Store, pack: Pack) -> None:
    two_shops.keys.create(NORTH, "trying", ["line-items"], ORIGIN, sandbox=True)
    sandbox = "north~sandbox"
    issue(two_shops, kept_by_service(two_shops, pack), "R1", shop=sandbox)
    assert two_shops.shop_removal.rows(NORTH)["procedures"] == rows_of(two_shops, NORTH)["procedures"] + 1
    two_shops.shop_removal.delete(NORTH, ORIGIN)
    assert sandbox not in texts(two_shops, audit)
    assert two_shops.audit.verify().faults == ()


def test_a_sandbox_can_go_alone(two_shops: Store) -> None:
    two_shops.keys.create(NORTH, "trying", ["line-items"], ORIGIN, sandbox=True)
    before = rows_of(two_shops, NORTH)
    two_shops.shop_removal.delete("north~sandbox", ORIGIN)
    assert rows_of(two_shops, NORTH) == before


def test_a_shop_of_the_same_name_begins_anew(two_shops: Store, pack: Pack) -> None:
    old = two_shops.links.secret_of(NORTH)
    two_shops.shop_removal.delete(NORTH, ORIGIN)
    whole_shop(two_shops, pack, NORTH)
    assert two_shops.links.find(old.handle) is None
    assert two_shops.audit.verify().faults == ()


def test_all_goes_or_nothing(two_shops: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    from storage.removing import shop

    def fail(*_arguments: object) -> None:
        raise RuntimeError("planted")

    before, entries = rows(two_shops), two_shops.audit.verify().entries
    monkeypatch.setattr(shop.audit, "append", fail)
    with pytest.raises(RuntimeError, match="planted"):
        two_shops.shop_removal.delete(NORTH, ORIGIN)
    assert rows(two_shops) == before
    assert two_shops.audit.verify().entries == entries


def test_others_are_issued_procedures_meanwhile(two_shops: Store, pack: Pack) -> None:
    """Facts that nobody states at a moment go with the shop, and whoever is about to state them has them."""
    own, stop, issued = kept_by_service(two_shops, pack), Event(), Semaphore(0)

    def work(reference: str) -> None:
        for length_mm in cycle((0, 1)):
            if stop.is_set():
                return
            issue(two_shops, own, reference, StatedFacts("PA", {"length_mm": length_mm}), SOUTH)
            issued.release()

    with ThreadPoolExecutor(2) as threads:
        working = [threads.submit(work, "M") for _ in range(2)]
        try:
            for number in range(8):
                two_shops.shops.create(f"east-{number}", "Invented", ORIGIN)
                two_shops.shop_removal.delete(f"east-{number}", ORIGIN)
                assert issued.acquire(timeout=60)
        finally:
            stop.set()
    for each in working:
        each.result()
    assert two_shops.audit.verify().faults == ()
