"""The snapshots of shops: which one a request gets, how many are kept, and who waits for whom."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Event
from typing import Any

import pytest

from api.packs.reading import PackUnreadable
from api.packs.shop_snapshots import ShopSnapshots
from api.snapshot import Snapshot
from rules.decider import Decider
from storage.records import Activation

BEGAN = datetime(2026, 1, 1, tzinfo=UTC)


class Engine:
    """Tells whether it was closed."""

    closed = False

    def close(self) -> None:
        assert not self.closed
        self.closed = True


class Loader:
    """Makes a snapshot of every decision and counts them."""

    def __init__(self) -> None:
        self.loaded: list[Activation] = []

    def __call__(self, activation: Activation) -> Snapshot:
        self.loaded.append(activation)
        return snapshot_of(activation)


def snapshot_of(activation: Activation) -> Snapshot:
    anything: Any = None
    decider = Decider.__new__(Decider)
    decider.engine = Engine()  # type: ignore[assignment]
    return Snapshot(anything, decider, anything, anything, activation.number)


def decision(shop: str, number: int, digest: str | None = "d") -> Activation:
    moment = BEGAN + timedelta(seconds=number)
    return Activation(number, shop, number, digest, moment, moment, "api")


def is_closed(snapshot: Snapshot) -> bool:
    return snapshot.decider.engine.closed  # type: ignore[attr-defined,no-any-return]


def taken(shops: ShopSnapshots, shop: str) -> Snapshot:
    snapshot = shops.take(shop)
    assert snapshot is not None
    return snapshot


def test_who_has_decided_nothing_or_follows_has_none() -> None:
    load = Loader()
    shops = ShopSnapshots(load, 2)
    assert shops.take("north") is None
    shops.enter(decision("north", 1, None))
    assert shops.take("north") is None
    assert load.loaded == []


def test_a_snapshot_is_loaded_when_it_is_first_asked_for_and_once() -> None:
    load = Loader()
    shops = ShopSnapshots(load, 2)
    assert shops.enter(decision("north", 1))
    assert load.loaded == []
    first = taken(shops, "north")
    assert taken(shops, "north") is first
    assert load.loaded == [decision("north", 1)]


def test_a_later_decision_takes_the_place_and_an_earlier_one_does_not() -> None:
    shops = ShopSnapshots(Loader(), 2)
    shops.enter(decision("north", 2))
    before = taken(shops, "north")
    stale, same = snapshot_of(decision("north", 1)), snapshot_of(decision("north", 2))
    assert not shops.enter(decision("north", 1), stale)
    assert is_closed(stale)
    assert not shops.enter(decision("north", 2), same)
    assert taken(shops, "north") is same
    assert shops.enter(decision("north", 3))
    assert taken(shops, "north").activation == 3
    assert not is_closed(before)
    before.uses.end()
    assert is_closed(before)


def test_the_snapshot_used_last_stays_and_the_others_are_closed_after_their_last_use() -> None:
    load = Loader()
    shops = ShopSnapshots(load, 2)
    for shop in ("north", "south", "west"):
        shops.enter(decision(shop, 1))
    north, south = taken(shops, "north"), taken(shops, "south")
    for snapshot in (north, south):
        snapshot.uses.end()
    taken(shops, "north")
    taken(shops, "west")
    assert is_closed(south)
    assert not is_closed(north)
    assert len(shops.loaded()) == 2
    again = taken(shops, "south")
    assert again is not south
    # The one in the north has to make room, and its request is still under way.
    assert not is_closed(north)
    north.uses.end()
    assert is_closed(north)


@pytest.mark.parametrize("most", [1, 8])
def test_who_is_loaded_keeps_nobody_of_another_shop_waiting(most: int) -> None:
    begun, go_on = Event(), Event()

    def load(activation: Activation) -> Snapshot:
        if activation.shop == "slow":
            begun.set()
            assert go_on.wait(30)
        return snapshot_of(activation)

    shops = ShopSnapshots(load, most)
    for shop in ("slow", "quick"):
        shops.enter(decision(shop, 1))
    with ThreadPoolExecutor(2) as threads:
        waiting = [threads.submit(taken, shops, "slow") for _ in range(2)]
        assert begun.wait(30)
        assert taken(shops, "quick").activation == 1
        assert shops.enter(decision("quick", 2))
        assert taken(shops, "quick").activation == 2
        assert not any(each.done() for each in waiting)
        go_on.set()
        assert waiting[0].result() is waiting[1].result()


def test_a_decision_that_comes_while_the_one_before_is_loaded_is_not_lost() -> None:
    begun, go_on = Event(), Event()

    def load(activation: Activation) -> Snapshot:
        if activation.number == 1:
            begun.set()
            assert go_on.wait(30)
        return snapshot_of(activation)

    shops = ShopSnapshots(load, 2)
    shops.enter(decision("north", 1))
    with ThreadPoolExecutor(2) as threads:
        first = threads.submit(taken, shops, "north")
        assert begun.wait(30)
        second = threads.submit(taken, shops, "north")
        shops.enter(decision("north", 2))
        assert taken(shops, "north").activation == 2
        go_on.set()
        early = first.result()
        late = second.result()
    assert (early.activation, not is_closed(early)) == (1, True)
    early.uses.end()
    assert is_closed(early)
    assert taken(shops, "north").activation == 2
    assert late.activation == 2


def test_what_cannot_be_loaded_is_not_tried_again_until_something_else_is_decided() -> None:
    tried: list[int] = []

    def load(activation: Activation) -> Snapshot:
        tried.append(activation.number)
        if activation.number == 1:
            raise PackUnreadable("it is gone")
        return snapshot_of(activation)

    shops = ShopSnapshots(load, 2)
    shops.enter(decision("north", 1))
    for _ in range(3):
        with pytest.raises(PackUnreadable, match="it is gone"):
            shops.take("north")
    assert tried == [1]
    shops.enter(decision("north", 2))
    assert taken(shops, "north").activation == 2


def test_what_holds_no_more_is_forgotten_and_what_was_decided_since_the_look_is_not() -> None:
    shops = ShopSnapshots(Loader(), 4)
    for shop, number in (("deleted", 1), ("stays", 2), ("just decided", 9)):
        shops.enter(decision(shop, number))
    gone = taken(shops, "deleted")
    shops.keep_only(["stays"], 5)
    assert shops.take("deleted") is None
    assert taken(shops, "stays").activation == 2
    assert taken(shops, "just decided").activation == 9
    gone.uses.end()
    assert is_closed(gone)
