"""Old line items go, with what hangs on them; what is not old stays, and so does what was learned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Event
from uuid import uuid4

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kept_versions import CRACK, DENT, issue
from whole_shop import ORIGIN, rows, texts, whole_shop

from planning.learning.model import Spell
from planning.learning.posterior import Sums
from rules.pack import Pack
from storage.actual_records import KeptActual, Report, State
from storage.faults import ShopUnknown
from storage.records import KeptProcedure
from storage.removing import line_items as removing
from storage.removing.line_items import Removed
from storage.shops import LOCAL
from storage.store import Store, open_store
from storage.tables import audit, latest_procedures, line_items, stated_facts

NORTH = "north"
NOW = datetime.now(UTC)
OLD, NEW = NOW - timedelta(days=800), NOW - timedelta(days=10)
BEFORE = NOW - timedelta(days=730)


@pytest.fixture
def north(empty_store: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch) -> Store:
    """With a shop that has nothing yet, and no pauses."""
    monkeypatch.setattr(removing, "PAUSE_S", 0)
    empty_store.shops.create(NORTH, "The shop in the north", ORIGIN)
    empty_store.keep_pack(pack)
    return empty_store


def age(store: Store, reference: str, at: datetime, shop: str = NORTH) -> None:
    """As if a line item had been issued last at a moment."""
    with store._engine.begin() as connection:
        for table in (line_items, latest_procedures):
            its = (table.c.shop == shop) & (table.c.reference == reference)
            connection.execute(sa.update(table).where(its).values(issued_at=at))


def issue_at(store: Store, pack: Pack, reference: str, at: datetime, **more: object) -> KeptProcedure:
    kept = issue(store, pack, reference, shop=NORTH, **more)  # type: ignore[arg-type]
    age(store, reference, at)
    return kept


def remove(store: Store, shop: str = NORTH, before: datetime = BEFORE) -> Removed:
    return sum(store.old_line_items.remove(shop, before, ORIGIN), Removed())


def report(store: Store, procedure: KeptProcedure, minutes: float, stage: str = "groove") -> None:
    store.actuals.keep(NORTH, procedure.id, [Report(stage, Spell(minutes), 20.0, 0.3)])


def reports(store: Store, procedure: KeptProcedure) -> tuple[KeptActual, ...]:
    return store.actuals.of_procedure(NORTH, procedure.id, 100).items


def entries(store: Store) -> list[str]:
    assert store.audit.verify().faults == ()
    with store._engine.connect() as connection:
        found = connection.scalars(sa.select(audit.c.entry).order_by(audit.c.number)).all()
    return [entry for entry in found if "line_items.removed" in entry]


def test_an_old_line_item_goes_with_its_procedures_and_reports(north: Store, pack: Pack) -> None:
    first, second = issue(north, pack, "R1", shop=NORTH), issue(north, pack, "R1", DENT, NORTH)
    age(north, "R1", OLD)
    report(north, first, 22.0)
    kept = issue_at(north, pack, "R2", NEW)
    assert north.old_line_items.count(NORTH, BEFORE) == remove(north) == Removed(1, 2, 1)
    for gone in (first, second):
        assert north.procedure(NORTH, gone.id) is None
        assert reports(north, gone) == ()
    assert north.procedures_of(NORTH, "R1", 5).items == ()
    assert north.procedure(NORTH, kept.id) == kept


def test_a_line_item_is_as_old_as_its_last_issue(north: Store, pack: Pack) -> None:
    first = issue_at(north, pack, "R1", OLD)
    north.keep_procedure(NORTH, first, CRACK)
    assert remove(north) == Removed()
    assert north.procedure(NORTH, first.id) is not None


def test_the_moment_itself_is_not_before(north: Store, pack: Pack) -> None:
    issue_at(north, pack, "R1", BEFORE)
    issue_at(north, pack, "R2", BEFORE - timedelta(microseconds=1))
    assert remove(north) == Removed(1, 1, 0)
    assert len(north.procedures_of(NORTH, "R1", 5).items) == 1


def test_a_procedure_of_another_line_item_stays_with_its_reports(north: Store, pack: Pack) -> None:
    both = issue_at(north, pack, "R1", OLD)
    north.keep_procedure(NORTH, replace(both, reference="R2"), DENT)
    report(north, both, 22.0)
    assert north.old_line_items.count(NORTH, BEFORE) == remove(north) == Removed(1, 0, 0)
    assert north.procedures_of(NORTH, "R1", 5).items == ()
    assert [kept.id for kept in north.procedures_of(NORTH, "R2", 5).items] == [both.id]
    assert len(reports(north, both)) == 1
    age(north, "R2", OLD)
    assert north.old_line_items.count(NORTH, BEFORE) == remove(north) == Removed(1, 1, 1)


def test_other_shops_keep_theirs(north: Store, pack: Pack) -> None:
    whole_shop(north, pack, "south")
    age(north, "R0", OLD, "south")
    issue_at(north, pack, "R0", OLD)
    before = [row for row in rows(north)["line_items"] if "south" in row]
    assert remove(north) == Removed(1, 1, 0)
    assert [row for row in rows(north)["line_items"] if "south" in row] == before
    assert remove(north, "south") == Removed(1, 1, 1)


def test_everything_that_hangs_on_a_line_item_of_a_whole_shop_goes(north: Store, pack: Pack) -> None:
    """Events, deliveries and attempts too; keys and packs stay."""
    whole_shop(north, pack, "south")
    remove(north, "south", datetime.now(UTC) + timedelta(seconds=1))
    left = rows(north)
    for table in ("procedures", "line_items", "latest_procedures", "actuals", "stated_facts"):
        assert left[table] == [], table
    assert '"R' not in texts(north)
    for table in ("api_keys", "estimates", "link_secrets", "webhooks", "kept_packs"):
        assert len(left[table]) == 1 or table == "kept_packs", table


def test_facts_that_others_state_stay(north: Store, pack: Pack) -> None:
    issue_at(north, pack, "R1", OLD, stated=CRACK)
    issue_at(north, pack, "R2", OLD, stated=DENT)
    issue_at(north, pack, "R3", NEW, stated=DENT)
    remove(north)
    with north._engine.connect() as connection:
        assert connection.scalars(sa.select(stated_facts.c.key)).all() == [DENT.key]


def test_facts_that_a_line_item_stated_before_go_with_it(north: Store, pack: Pack) -> None:
    issue(north, pack, "R1", CRACK, NORTH)
    issue_at(north, pack, "R1", OLD, stated=DENT)
    remove(north)
    assert rows(north)["stated_facts"] == []


def test_each_transaction_has_its_entry_and_none_has_a_line_item(
    north: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(removing, "AT_ONCE", 2)
    for number in range(5):
        issue_at(north, pack, f"R{number}", OLD)
    steps = list(north.old_line_items.remove(NORTH, BEFORE, ORIGIN))
    assert [step.line_items for step in steps] == [2, 2, 1]
    found = entries(north)
    assert len(found) == 3
    assert '"line_items":2' in found[0]
    assert f'"origin":"{ORIGIN}"' in found[0]
    assert not any('"R' in entry or "pr-" in entry for entry in found)


@pytest.mark.parametrize("count", [0, 1, 2, 3, 4])
def test_no_number_of_line_items_is_too_round(
    north: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    monkeypatch.setattr(removing, "AT_ONCE", 2)
    for number in range(count):
        issue_at(north, pack, f"R{number}", OLD)
        issue_at(north, pack, f"N{number}", NEW)
    assert remove(north) == Removed(count, count, 0)
    assert remove(north) == Removed()
    assert len(entries(north)) == (count + 1) // 2


def test_a_shop_that_is_not_there_is_told(north: Store) -> None:
    for ask in (remove, lambda store, shop: store.old_line_items.count(shop, BEFORE)):
        with pytest.raises(ShopUnknown, match="there is no shop 'east'"):
            ask(north, "east")


def test_how_long_a_shop_keeps_is_entered(north: Store) -> None:
    north.shops.keep(NORTH, 400, ORIGIN)
    assert {shop.id: shop.keep_days for shop in north.shops.all()} == {LOCAL: None, NORTH: 400}
    north.shops.keep(NORTH, None, ORIGIN)
    assert {shop.id: shop.keep_days for shop in north.shops.all()} == {LOCAL: None, NORTH: None}
    assert north.audit.verify().faults == ()


def sums(store: Store, stage: str = "groove") -> Sums:
    return store.estimates.of_shop(NORTH)[stage].sums


def test_what_was_learned_stays_and_is_built_on(north: Store, pack: Pack) -> None:
    old = [issue_at(north, pack, f"R{number}", OLD) for number in range(3)]
    for procedure, minutes in zip(old, (22.0, 25.0, 30.0), strict=True):
        report(north, procedure, minutes)
    report(north, old[0], 24.0)  # in place of the first
    learned = sums(north)
    remove(north)
    assert sums(north) == learned
    report(north, issue(north, pack, "R9", shop=NORTH), 20.0)
    after = sums(north)
    assert (after.count, after.total) == (4, pytest.approx(learned.total))  # log(20 / 20) adds nothing


def test_reports_that_did_not_count_are_not_learned_from_when_they_go(north: Store, pack: Pack) -> None:
    old = [issue_at(north, pack, f"R{number}", OLD) for number in range(2)]
    report(north, old[0], 20.0 * 60)  # set aside: minutes for hours
    report(north, old[1], 30.0)
    north.estimates.reset(NORTH, "groove", "api")
    remove(north)
    report(north, issue(north, pack, "R9", shop=NORTH), 25.0)
    assert sums(north).count == 1


def test_a_reset_begins_anew_from_what_is_gone_too(north: Store, pack: Pack) -> None:
    report(north, issue_at(north, pack, "R1", OLD), 30.0)
    remove(north)
    north.estimates.reset(NORTH, "groove", "api")
    assert sums(north) == Sums()
    report(north, issue(north, pack, "R9", shop=NORTH), 25.0)
    assert sums(north).count == 1


def test_a_frozen_estimate_does_not_move_and_counts_what_is_gone_afterwards(north: Store, pack: Pack) -> None:
    report(north, issue_at(north, pack, "R1", OLD), 30.0)
    north.estimates.freeze(NORTH, "groove", "api")
    report(north, issue_at(north, pack, "R2", OLD), 35.0)
    held = sums(north)
    remove(north)
    assert sums(north) == held
    north.estimates.unfreeze(NORTH, "groove", "api")
    assert sums(north).count == 2


def test_what_is_gone_still_bears_others_out(north: Store, pack: Pack) -> None:
    """A shop that takes five times as long: its own reports say so, and the next is not far off."""
    for number in range(6):
        report(north, issue_at(north, pack, f"R{number}", OLD), 100.0 + number)
    assert sums(north).count == 6
    remove(north)
    last = issue(north, pack, "R9", shop=NORTH)
    report(north, last, 104.0)
    assert [each.state for each in reports(north, last)] == [State.COUNTED]
    assert sums(north).count == 7


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    store = open_store(f"sqlite:///{tmp_path_factory.mktemp('old')}/store.sqlite3")
    yield store
    store.close()


MINUTES = st.lists(st.tuples(st.floats(12, 35), st.booleans()), min_size=1, max_size=12)


@settings(
    deadline=None, max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture]
)  # the pack is never changed
@given(MINUTES, st.floats(12, 35))
def test_a_shop_learns_the_same_whether_old_line_items_go_or_stay(
    shared: Store, pack: Pack, jobs: Sequence[tuple[float, bool]], last: float
) -> None:
    stage = f"stage-{uuid4().hex}"
    shared.keep_pack(pack)
    found = []
    for removes in (False, True):
        shop = f"s{uuid4().hex[:12]}"
        shared.shops.create(shop, "Invented", ORIGIN)
        for number, (minutes, is_old) in enumerate(jobs):
            kept = issue(shared, pack, f"R{number}", shop=shop)
            shared.actuals.keep(shop, kept.id, [Report(stage, Spell(minutes), 20.0, 0.3)])
            if is_old:
                age(shared, f"R{number}", OLD, shop)
        if removes:
            counted, removed = shared.old_line_items.count(shop, BEFORE), remove(shared, shop)
            assert counted == removed == Removed(*[sum(is_old for _, is_old in jobs)] * 3)
        kept = issue(shared, pack, "last", shop=shop)
        shared.actuals.keep(shop, kept.id, [Report(stage, Spell(last), 20.0, 0.3)])
        found.append(shared.estimates.of_shop(shop)[stage].sums)
    kept_all, removed_some = found
    assert removed_some.count == kept_all.count
    assert removed_some.total == pytest.approx(kept_all.total)
    assert removed_some.squares == pytest.approx(kept_all.squares)


def test_a_service_issues_meanwhile_also_what_is_about_to_go(
    north: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody fails because of what goes beside it, and nothing of it goes by half."""
    monkeypatch.setattr(removing, "AT_ONCE", 3)
    old = [issue_at(north, pack, f"R{number:02}", OLD) for number in range(24)]
    stop = Event()

    def work(mine: list[KeptProcedure]) -> int:
        rounds = 0
        while not stop.is_set():
            for procedure in mine:
                north.keep_procedure(NORTH, procedure, (CRACK, DENT)[rounds % 2])
            rounds += 1
        return rounds

    with ThreadPoolExecutor(2) as threads:
        working = [threads.submit(work, old[::2]), threads.submit(work, old[::3])]
        try:
            for _ in range(4):
                for procedure in old[::2]:
                    age(north, procedure.reference, OLD)
                remove(north)
        finally:
            stop.set()
        assert all(each.result() for each in working)
    for number, procedure in enumerate(old):
        found = north.procedures_of(NORTH, procedure.reference, 5).items
        assert [kept.id for kept in found] in ([], [procedure.id])
        assert bool(found) == (north.procedure(NORTH, procedure.id) is not None)
        assert not found or number % 2 == 0 or number % 3 == 0
    assert north.audit.verify().faults == ()
