"""Packs, proofs and decisions of shops: what is one's own, what is the service's, what nobody else sees."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
import sqlalchemy as sa
from kept_versions import CRACK, DENT, everything, issue, keep_proven, nothing, told, versions

from rules.pack import Pack
from storage.faults import ActivationConflict, PackInUse, PackNotKept, PackNotProven, TooManyPacks
from storage.records import Activation
from storage.sandboxes import sandbox_id
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import outbox, packs

NORTH, SOUTH = "north", "south"
HOUR = timedelta(hours=1)


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture
def base(pack: Pack) -> Pack:
    return versions(pack)[0]


@pytest.fixture
def house(pack: Pack) -> Pack:
    """The overlay of a shop, laid on the base."""
    return versions(pack)[1]


@pytest.fixture
def other(pack: Pack) -> Pack:
    return versions(pack, 3)[2]


@pytest.fixture
def store(empty_store: Store, base: Pack) -> Store:
    """With two shops beside that of the service, which has put the base in force."""
    for shop in (NORTH, SOUTH):
        empty_store.shops.create(shop, f"The shop in the {shop}", "command line")
    keep_proven(empty_store, base)
    empty_store.activations.activate(LOCAL, base.digest, 0, "start", nothing)
    return empty_store


def activate(
    store: Store, shop: str, pack: Pack | None, after: int, at: datetime | None = None
) -> Activation:
    digest = None if pack is None else pack.digest
    return store.activations.activate(shop, digest, after, "api", everything, at)


def seen(store: Store, shop: str) -> list[str]:
    return [each.digest for each in store.packs.page(shop, 50).items]


def in_force(store: Store, shop: str, at: datetime | None = None) -> str | None:
    found = store.activations.in_force(shop, at or now())
    return found and found.pack_digest


def test_a_shop_sees_its_own_packs_and_those_that_the_service_has_decided_for(
    store: Store, base: Pack, house: Pack, other: Pack
) -> None:
    store.packs.keep(NORTH, house, laid_on=base.digest)
    store.packs.keep(LOCAL, other)
    assert seen(store, NORTH) == [house.digest, base.digest]
    assert seen(store, SOUTH) == [base.digest]
    assert seen(store, LOCAL) == [other.digest, base.digest]
    assert store.packs.find(SOUTH, house.digest) is None
    assert store.packs.find(NORTH, other.digest) is None
    found = store.packs.find(NORTH, house.digest)
    assert found is not None
    assert (found.shop, found.laid_on) == (NORTH, base.digest)
    followed = store.packs.find(SOUTH, base.digest)
    assert followed is not None
    assert (followed.shop, followed.proven, followed.laid_on) == (LOCAL, True, None)


def test_the_same_pack_of_two_shops_is_known_to_each_by_itself(store: Store, house: Pack) -> None:
    findings = [{"code": "R201"}]
    store.packs.keep(NORTH, house, findings)
    store.packs.keep_proof(NORTH, house.digest, True, {"passed": True})
    assert store.packs.proof(SOUTH, house.digest) is None
    store.packs.keep(SOUTH, house)
    mine, theirs = store.packs.find(SOUTH, house.digest), store.packs.find(NORTH, house.digest)
    assert mine is not None
    assert theirs is not None
    assert (mine.findings, mine.proven) == ([], None)
    assert (theirs.findings, theirs.proven) == (findings, True)
    assert mine.kept_at > theirs.kept_at
    assert store.packs.proof(SOUTH, house.digest) is None
    with pytest.raises(PackNotProven):
        activate(store, SOUTH, house, 0)
    assert activate(store, NORTH, house, 0).number == 1


def test_a_page_of_packs_counts_nothing_of_others(store: Store, pack: Pack) -> None:
    mine, *others = versions(pack, 6)[1:]
    store.packs.keep(NORTH, mine)
    for each in others:
        store.packs.keep(SOUTH, each)
    first = store.packs.page(NORTH, 1)
    assert [each.digest for each in first.items] == [mine.digest]
    second = store.packs.page(NORTH, 1, first.next_cursor)
    assert len(second.items) == 1
    assert second.next_cursor is None
    theirs = store.packs.page(SOUTH, 2).next_cursor
    assert {each.shop for each in store.packs.page(NORTH, 50, theirs).items} <= {NORTH, LOCAL}


def test_a_shop_keeps_so_many_packs_and_no_more(store: Store, pack: Pack) -> None:
    first, second, third = versions(pack, 4)[1:]
    store.packs.keep(NORTH, first, most=2)
    store.packs.keep(NORTH, second, most=2)
    with pytest.raises(TooManyPacks):
        store.packs.keep(NORTH, third, most=2)
    store.packs.keep(NORTH, second, most=2)  # the same again is no other
    store.packs.keep(SOUTH, third, most=2)
    assert len(seen(store, NORTH)) == 3
    store.packs.forget(NORTH, first.digest)
    store.packs.keep(NORTH, third, most=2)
    assert seen(store, NORTH)[:2] == [third.digest, second.digest]


def test_of_many_that_keep_packs_at_once_none_goes_beyond_the_bound(store: Store, pack: Pack) -> None:
    several, together = versions(pack, 6)[1:], Barrier(5)

    def keep(each: Pack) -> bool:
        together.wait()
        try:
            store.packs.keep(NORTH, each, most=3)
        except TooManyPacks:
            return False
        return True

    with ThreadPoolExecutor(5) as threads:
        assert sorted(threads.map(keep, several)) == [False, False, True, True, True]
    assert store.audit.verify().faults == ()


def test_a_pack_is_forgotten_with_its_proof_and_its_text(store: Store, house: Pack) -> None:
    keep_proven(store, house, shop=NORTH)
    store.packs.keep(SOUTH, house)
    store.packs.forget(NORTH, house.digest)
    store.packs.forget(NORTH, house.digest)
    assert store.packs.find(NORTH, house.digest) is None
    assert store.packs.files(house.digest) is not None
    store.packs.forget(SOUTH, house.digest)
    assert store.packs.files(house.digest) is None
    with store._engine.connect() as connection:
        assert connection.scalar(sa.select(packs.c.files).where(packs.c.digest == house.digest)) == ""
    store.packs.keep(SOUTH, house)
    assert store.packs.files(house.digest) == house.files
    assert store.packs.proof(NORTH, house.digest) is None


def test_what_a_shop_has_decided_for_is_not_forgotten(store: Store, house: Pack) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0, now() + HOUR)
    with pytest.raises(PackInUse):
        store.packs.forget(NORTH, house.digest)
    assert store.packs.files(house.digest) is not None


def test_a_proof_of_a_pack_that_is_gone_is_not_kept(store: Store, house: Pack) -> None:
    store.packs.keep(SOUTH, house)
    with pytest.raises(PackNotKept):
        store.packs.keep_proof(NORTH, house.digest, True, {"passed": True})


def test_the_database_holds_a_shop_to_packs_that_it_keeps_itself(store: Store, house: Pack) -> None:
    keep_proven(store, house, shop=SOUTH)
    with pytest.raises(sa.exc.IntegrityError):
        store.activations.activate(NORTH, house.digest, 0, "api", nothing, needs_proof=False)


def test_a_shop_works_by_its_own_pack_and_the_others_by_that_of_the_service(
    store: Store, base: Pack, house: Pack, other: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    assert activate(store, NORTH, house, 0).number == 1
    assert [in_force(store, shop) for shop in (NORTH, SOUTH, LOCAL)] == [
        house.digest,
        base.digest,
        base.digest,
    ]
    keep_proven(store, other)
    assert activate(store, LOCAL, other, 1).number == 2
    assert [in_force(store, shop) for shop in (NORTH, SOUTH)] == [house.digest, other.digest]
    activate(store, NORTH, None, 1)
    assert in_force(store, NORTH) == other.digest


def test_decisions_are_counted_and_built_on_by_shop(store: Store, house: Pack) -> None:
    for shop in (NORTH, SOUTH):
        keep_proven(store, house, shop=shop)
        assert [activate(store, shop, house, after).number for after in range(3)] == [1, 2, 3]
    with pytest.raises(ActivationConflict):
        activate(store, SOUTH, house, 6)
    last = store.activations.last(LOCAL)
    assert last is not None
    assert last.number == 1


def test_a_decision_for_later_holds_from_its_moment_for_its_shop(
    store: Store, base: Pack, house: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0, now() + HOUR)
    activate(store, NORTH, None, 1, now() + 3 * HOUR)
    assert [in_force(store, NORTH, now() + hours * HOUR) for hours in (0, 2, 4)] == [
        base.digest,
        house.digest,
        base.digest,
    ]
    assert in_force(store, SOUTH, now() + 2 * HOUR) == base.digest
    upcoming = store.activations.upcoming(NORTH, now())
    assert [each.pack_digest for each in upcoming] == [house.digest, None]
    assert store.activations.upcoming(SOUTH, now()) == ()


def test_before_stays_within_the_shop_and_knows_following_as_something_else(
    store: Store, house: Pack, other: Pack
) -> None:
    keep_proven(store, house, other, shop=NORTH)
    first = activate(store, NORTH, house, 0)
    follows = activate(store, NORTH, None, 1)
    again = activate(store, NORTH, None, 2)
    second = activate(store, NORTH, other, 3)
    assert [store.activations.before(each) for each in (first, follows, again, second)] == [
        None,
        first,
        first,
        again,
    ]


def test_the_state_is_another_one_after_whatever_is_decided_and_when_its_moment_comes(
    store: Store, house: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    at = now()
    states = [store.activations.state(at)]
    for after, moment in enumerate((None, at + HOUR, None)):
        activate(store, NORTH, house, after, moment)
        states.append(store.activations.state(at))
    states.append(store.activations.state(at + 2 * HOUR))
    assert len(set(states)) == len(states)
    assert store.activations.state(at) == states[-2]


@pytest.mark.parametrize("service_decides", [False, True])
def test_the_state_is_another_one_after_a_shop_was_deleted_and_no_key_comes_again(
    store: Store, base: Pack, house: Pack, service_decides: bool
) -> None:
    keep_proven(store, house, shop=NORTH)
    first = activate(store, NORTH, house, 0)
    if service_decides:
        activate(store, LOCAL, base, 1)
    at = now()
    before = store.activations.state(at)
    store.shop_removal.delete(NORTH, "command line")
    assert store.activations.state(at) != before
    store.shops.create(NORTH, "Another shop of that name", "command line")
    keep_proven(store, house, shop=NORTH)
    assert activate(store, NORTH, house, 0).key > first.key


def test_what_holds_for_every_shop_is_told_at_once(store: Store, base: Pack, house: Pack) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    activate(store, NORTH, None, 1, now() + HOUR)
    found = store.activations.decided_by_shop(now())
    assert {shop: each.pack_digest for shop, each in found.items()} == {
        LOCAL: base.digest,
        NORTH: house.digest,
    }
    assert store.activations.decided_by_shop(now() + 2 * HOUR)[NORTH].follows


def superseded(store: Store) -> list[tuple[str, str]]:
    """(shop, reference) of every notice."""
    with store._engine.connect() as connection:
        query = sa.select(outbox.c.shop, outbox.c.reference).order_by(outbox.c.number)
        return [tuple(row) for row in connection.execute(query)]


def test_a_shops_decision_concerns_its_own_line_items_alone(store: Store, base: Pack, house: Pack) -> None:
    for shop in (NORTH, SOUTH, LOCAL):
        issue(store, base, "R1", shop=shop)
    keep_proven(store, house, shop=NORTH)
    assert {each.shop for each in store.activations.situations(NORTH)} == {NORTH}
    activate(store, NORTH, house, 0)
    assert superseded(store) == [(NORTH, "R1")]


def test_a_decision_of_the_service_concerns_all_that_follow_it(
    store: Store, base: Pack, house: Pack, other: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    for shop, under in ((NORTH, house), (SOUTH, base), (LOCAL, base)):
        issue(store, under, "R1", shop=shop)
    keep_proven(store, other)
    assert {each.shop for each in store.activations.situations(LOCAL)} == {SOUTH, LOCAL}
    activate(store, LOCAL, other, 1)
    assert sorted(superseded(store)) == [(LOCAL, "R1"), (SOUTH, "R1")]


def test_who_follows_again_is_told_once_of_what_that_changes(store: Store, base: Pack, house: Pack) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    procedure = issue(store, house, "R1", shop=NORTH)
    issue(store, base, "R2", DENT, shop=SOUTH)
    follows = activate(store, NORTH, None, 1)
    assert superseded(store) == [(NORTH, "R1")]
    service = store.activations.decided(LOCAL, now())
    assert service is not None
    for decision in (follows, service):
        store.activations.tell(
            decision, lambda found: [each for each in found if each.pack_digest != base.digest]
        )
    assert superseded(store) == [(NORTH, "R1")]
    # Once more in force and issued anew, it is superseded once more.
    activate(store, NORTH, house, 2)
    store.keep_procedure(NORTH, procedure, CRACK)
    activate(store, NORTH, None, 3)
    assert superseded(store) == [(NORTH, "R1"), (NORTH, "R1")]


def test_who_followed_before_the_service_decided_is_told_by_its_decision(
    store: Store, house: Pack, other: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    follows = activate(store, NORTH, None, 1)
    issue(store, house, "late", shop=NORTH)
    keep_proven(store, other)
    service = activate(store, LOCAL, other, 1)
    assert [row[3] for row in told(store)] == [service.key]
    assert service.key > follows.key


def test_the_audit_says_whose_decision_it_was_and_is_held_against_all_of_them(
    store: Store, house: Pack
) -> None:
    for shop in (NORTH, SOUTH):
        keep_proven(store, house, shop=shop)
        activate(store, shop, house, 0)
    assert store.audit.verify().faults == ()
    with store._engine.begin() as connection:
        connection.execute(sa.text("UPDATE activations SET origin = 'start' WHERE shop = 'south'"))
    assert store.audit.verify().faults == (
        "activation 1 of the shop 'south' is not the one that was entered here",
    )


def test_a_deleted_shop_takes_its_packs_with_it_and_the_audit_stays_whole(
    store: Store, base: Pack, house: Pack
) -> None:
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    issue(store, house, "R1", shop=NORTH)
    store.shop_removal.delete(NORTH, "command line")
    assert store.packs.files(house.digest) is None
    assert store.packs.files(base.digest) is not None
    assert store.audit.verify().faults == ()
    store.shops.create(NORTH, "Another shop of that name", "command line")
    assert in_force(store, NORTH) == base.digest
    keep_proven(store, house, shop=NORTH)
    assert activate(store, NORTH, house, 0).number == 1
    assert store.audit.verify().faults == ()


def test_a_sandbox_goes_by_what_its_shop_decides(store: Store, base: Pack, house: Pack, other: Pack) -> None:
    for shop in (NORTH, SOUTH, LOCAL):
        store.keys.create(shop, "integrator", ["line-items"], "command line", sandbox=True)
        issue(store, base, "R1", shop=sandbox_id(shop))
    keep_proven(store, house, shop=NORTH)
    activate(store, NORTH, house, 0)
    assert superseded(store) == [(sandbox_id(NORTH), "R1")]
    keep_proven(store, other)
    activate(store, LOCAL, other, 1)
    assert sorted(superseded(store)[1:]) == [(sandbox_id(LOCAL), "R1"), (sandbox_id(SOUTH), "R1")]
    activate(store, NORTH, None, 1)
    assert superseded(store)[3:] == [(sandbox_id(NORTH), "R1")]
