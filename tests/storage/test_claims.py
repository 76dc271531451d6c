"""Who sends what: leases, several workers, what a dead one leaves behind, and what is kept of it."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor, wait
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from webhooks_kept import ANSWERED, BROKEN, HOUR, LEASE, claim, happen, log, now, webhook

from rules.pack import Pack
from storage import claims
from storage.claims import AT_ONCE, LOST, Result
from storage.deliveries import RETENTION
from storage.faults import DeliveryUnknown, WebhookDisabled
from storage.shops import LOCAL
from storage.store import Store, open_store
from storage.tables import attempts, deliveries, outbox, webhooks
from storage.webhook_records import (
    BY_REQUEST,
    GONE,
    ISSUED,
    SUPERSEDED,
    Attempt,
    Claim,
    DeliveryState,
    Webhook,
)

MOMENT = timedelta(microseconds=1)
REFUSED = Result(3, 503, "answered 503")
NO_MORE = Result(9, 410, "answered 410: it wants nothing more")
ELSEWHERE = "https://elsewhere.example/events"


def state(store: Store, of: Webhook) -> list[DeliveryState]:
    return [each.state for each in log(store, of)]


def count(store: Store, table: sa.Table) -> int:
    with store._engine.connect() as connection:
        return connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()


def log_of(store: Store, of: Claim) -> tuple[Attempt, ...]:
    found = store.deliveries.find(of.shop, of.webhook_id, of.event.id)
    assert found is not None
    return found.attempts


def test_what_is_due_is_claimed_by_one_with_all_it_needs(empty_store: Store, pack: Pack) -> None:
    made = empty_store.webhooks.create(LOCAL, "https://shop.example/events", [ISSUED])
    (procedure,) = happen(empty_store, pack, "R1")
    assert empty_store.claims.to_be_served(now()) == [(LOCAL, made.webhook.id)]
    found = claim(empty_store, made.webhook)
    assert (found.url, found.secrets, found.tries) == (made.webhook.url, (made.secret,), 1)
    assert (found.event.type, found.event.reference, found.event.procedure_id) == (ISSUED, "R1", procedure.id)
    assert empty_store.claims.claim(LOCAL, made.webhook.id, LEASE) is None
    assert empty_store.claims.to_be_served(now()) == []
    kept = empty_store.webhooks.find(LOCAL, made.webhook.id)
    assert kept is not None
    assert kept.tried_at is not None


def test_a_claim_of_nothing_leaves_no_trace(empty_store: Store) -> None:
    idle = webhook(empty_store)
    assert empty_store.claims.claim(LOCAL, idle.id, LEASE) is None
    assert empty_store.webhooks.find(LOCAL, idle.id) == idle
    assert empty_store.claims.claim(LOCAL, "wh_unheard", LEASE) is None
    assert empty_store.claims.claim("north", idle.id, LEASE) is None


def test_a_delivered_event_is_over(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    (delivery,) = log(empty_store, wants)
    assert (delivery.state, delivery.due_at, delivery.attempt_count) == (DeliveryState.DELIVERED, None, 1)
    assert delivery.ended_at is not None
    assert empty_store.deliveries.waiting() == 0
    assert empty_store.claims.claim(LOCAL, wants.id, LEASE, now() + 100 * HOUR) is None


def test_a_failed_one_waits_for_its_time_and_every_attempt_is_logged(empty_store: Store, pack: Pack) -> None:
    wants, due_at = webhook(empty_store, ISSUED), now() + HOUR
    happen(empty_store, pack)
    first = claim(empty_store, wants)
    empty_store.claims.failed(first, BROKEN, due_at)
    (delivery,) = log(empty_store, wants)
    assert (delivery.state, delivery.due_at, delivery.ended_at) == (DeliveryState.WAITING, due_at, None)
    assert empty_store.claims.to_be_served(due_at - MOMENT) == []
    assert empty_store.claims.claim(LOCAL, wants.id, LEASE, due_at - MOMENT) is None
    assert empty_store.claims.to_be_served(due_at) == [(LOCAL, wants.id)]
    second = claim(empty_store, wants, due_at)
    assert (second.event.id, second.tries) == (first.event.id, 2)
    empty_store.claims.failed(second, REFUSED, None)
    found = empty_store.deliveries.find(LOCAL, wants.id, first.event.id)
    assert found is not None
    assert (found.state, found.due_at) == (DeliveryState.GIVEN_UP, None)
    assert [(each.duration_ms, each.status, each.reason) for each in found.attempts] == [
        (20_000, None, "no answer within 20 s"),
        (3, 503, "answered 503"),
    ]
    assert found.attempts[1].at == due_at


def test_what_is_under_way_is_seen_in_the_log(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    at = now()
    found = empty_store.deliveries.find(LOCAL, wants.id, claim(empty_store, wants, at).event.id)
    assert found is not None
    assert found.attempts == (Attempt(at, None, None, None),)


def test_a_lease_runs_out_and_the_event_is_sent_again_under_its_id(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    at = now()
    dead = claim(empty_store, wants, at)
    assert empty_store.claims.claim(LOCAL, wants.id, LEASE, at + LEASE - MOMENT) is None
    assert empty_store.claims.to_be_served(at + LEASE - MOMENT) == []
    assert empty_store.claims.to_be_served(at + LEASE) == [(LOCAL, wants.id)]
    again = claim(empty_store, wants, at + LEASE)
    assert again.event == dead.event
    assert (again.tries, again.token != dead.token) == (2, True)
    found = empty_store.deliveries.find(LOCAL, wants.id, dead.event.id)
    assert found is not None
    assert [each.reason for each in found.attempts] == [LOST, None]


def test_who_comes_back_after_its_lease_is_logged_and_decides_nothing(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    at = now()
    late = claim(empty_store, wants, at)
    holder = claim(empty_store, wants, at + LEASE)
    empty_store.claims.failed(late, BROKEN, None)
    assert state(empty_store, wants) == [DeliveryState.WAITING]
    empty_store.claims.delivered(holder, ANSWERED)
    empty_store.claims.failed(late, BROKEN, now())
    found = empty_store.deliveries.find(LOCAL, wants.id, late.event.id)
    assert found is not None
    assert found.state is DeliveryState.DELIVERED
    assert [each.reason for each in found.attempts] == [BROKEN.reason, ANSWERED.reason]


def test_so_many_are_under_way_to_one_webhook_and_others_go_on(empty_store: Store, pack: Pack) -> None:
    slow, other = webhook(empty_store, ISSUED), webhook(empty_store, ISSUED)
    happen(empty_store, pack, *(f"R{number}" for number in range(AT_ONCE + 3)))
    held = [claim(empty_store, slow) for _ in range(AT_ONCE)]
    assert len({each.event.id for each in held}) == AT_ONCE
    assert empty_store.claims.claim(LOCAL, slow.id, LEASE) is None
    assert empty_store.claims.to_be_served(now()) == [(LOCAL, other.id)]
    empty_store.claims.delivered(held[0], ANSWERED)
    assert claim(empty_store, slow).event.id not in {each.event.id for each in held}


def test_an_endpoint_that_asks_for_quiet_gets_it_for_all_its_events(empty_store: Store, pack: Pack) -> None:
    busy, other = webhook(empty_store, ISSUED), webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2")
    until = now() + HOUR
    empty_store.claims.failed(claim(empty_store, busy), REFUSED, now() + 2 * HOUR, until)
    assert empty_store.claims.to_be_served(until - MOMENT) == [(LOCAL, other.id)]
    assert empty_store.claims.claim(LOCAL, busy.id, LEASE, until - MOMENT) is None
    assert claim(empty_store, busy, until).tries == 1


def test_a_change_that_keeps_the_address_keeps_its_quiet(empty_store: Store, pack: Pack) -> None:
    busy = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2")
    empty_store.claims.failed(claim(empty_store, busy), REFUSED, now() + 2 * HOUR, now() + HOUR)
    empty_store.webhooks.change(LOCAL, busy.id, url=busy.url, description="front desk")
    assert empty_store.claims.claim(LOCAL, busy.id, LEASE) is None
    empty_store.webhooks.change(LOCAL, busy.id, url=ELSEWHERE)
    assert claim(empty_store, busy).url == ELSEWHERE


def test_gone_disables_the_webhook_and_stops_all_that_waits(empty_store: Store, pack: Pack) -> None:
    ended, other = webhook(empty_store, ISSUED), webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2", "R3")
    first, second = claim(empty_store, ended), claim(empty_store, ended)
    empty_store.claims.gone(first, NO_MORE)
    empty_store.claims.delivered(second, ANSWERED)
    assert set(state(empty_store, ended)) == {DeliveryState.STOPPED}
    assert set(state(empty_store, other)) == {DeliveryState.WAITING}
    kept = empty_store.webhooks.find(LOCAL, ended.id)
    assert kept is not None
    assert kept.disabled_because == GONE
    found = empty_store.deliveries.find(LOCAL, ended.id, second.event.id)
    assert found is not None
    assert [each.status for each in found.attempts] == [204]
    assert empty_store.audit.verify().faults == ()


def test_an_address_that_was_left_meanwhile_ends_nothing(empty_store: Store, pack: Pack) -> None:
    moved = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2")
    gone, busy = claim(empty_store, moved), claim(empty_store, moved)
    changed = empty_store.webhooks.change(LOCAL, moved.id, url=ELSEWHERE)
    empty_store.claims.gone(gone, NO_MORE)
    empty_store.claims.failed(busy, REFUSED, now() + HOUR, now() + HOUR)
    assert empty_store.webhooks.find(LOCAL, moved.id) == changed
    assert state(empty_store, moved) == [DeliveryState.WAITING] * 2
    again = claim(empty_store, moved)
    assert (again.event, again.url) == (gone.event, ELSEWHERE)


def test_gone_is_entered_once_and_not_of_what_is_disabled_or_removed(empty_store: Store, pack: Pack) -> None:
    ended, paused, removed = (webhook(empty_store, ISSUED) for _ in range(3))
    happen(empty_store, pack, "R1", "R2")
    held = [claim(empty_store, each) for each in (ended, ended, paused, removed)]
    empty_store.webhooks.change(LOCAL, paused.id, enabled=False)
    empty_store.webhooks.remove(LOCAL, removed.id)
    before = empty_store.audit.verify().entries
    for each in held:
        empty_store.claims.gone(each, NO_MORE)
    assert empty_store.audit.verify().entries == before + 1
    found = empty_store.webhooks.find(LOCAL, paused.id)
    assert found is not None
    assert found.disabled_because == BY_REQUEST
    assert [each.status for each in log_of(empty_store, held[2])] == [410]


def test_who_comes_back_as_another_claims_leaves_it_to_the_other(
    empty_store: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    wants, taken = webhook(empty_store, ISSUED), claims._take
    happen(empty_store, pack)
    at = now()
    late = claim(empty_store, wants, at)
    with ThreadPoolExecutor(1) as thread:
        came_back: list[Future[None]] = []

        def take(*found: Any) -> Any:
            came_back.append(thread.submit(empty_store.claims.delivered, late, ANSWERED))
            wait(came_back, 0.5)
            return taken(*found)

        monkeypatch.setattr(claims, "_take", take)
        holder = claim(empty_store, wants, at + LEASE)
        came_back[0].result()
    empty_store.claims.failed(holder, BROKEN, at + HOUR)
    (delivery,) = log(empty_store, wants)
    assert (delivery.state, delivery.due_at, delivery.ended_at) == (DeliveryState.WAITING, at + HOUR, None)


def test_who_claims_as_another_comes_back_does_not_block_it(
    empty_store: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    wants, logged = webhook(empty_store, ISSUED), claims._log
    happen(empty_store, pack)
    at = now()
    late = claim(empty_store, wants, at)
    with ThreadPoolExecutor(1) as thread:
        claiming: list[Future[Claim | None]] = []

        def log_slowly(*told: Any) -> None:
            logged(*told)
            claiming.append(thread.submit(empty_store.claims.claim, LOCAL, wants.id, LEASE, at + LEASE))
            wait(claiming, 0.5)

        monkeypatch.setattr(claims, "_log", log_slowly)
        empty_store.claims.delivered(late, ANSWERED)
        assert claiming[0].result() is None
    assert state(empty_store, wants) == [DeliveryState.DELIVERED]


def test_replaying_begins_anew_under_the_same_id(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    first = claim(empty_store, wants)
    empty_store.claims.failed(first, BROKEN, None)
    replayed = empty_store.deliveries.replay(LOCAL, wants.id, first.event.id)
    assert (replayed.state, replayed.ended_at) == (DeliveryState.WAITING, None)
    assert replayed.event_id == first.event.id
    again = claim(empty_store, wants)
    assert (again.event, again.tries) == (first.event, 1)
    empty_store.claims.delivered(again, ANSWERED)
    found = empty_store.deliveries.find(LOCAL, wants.id, first.event.id)
    assert found is not None
    assert len(found.attempts) == 2
    assert empty_store.deliveries.replay(LOCAL, wants.id, first.event.id).state is DeliveryState.WAITING


def test_what_waits_is_due_at_once_and_what_is_under_way_stays(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    first = claim(empty_store, wants)
    empty_store.deliveries.replay(LOCAL, wants.id, first.event.id)
    assert empty_store.claims.claim(LOCAL, wants.id, LEASE) is None
    empty_store.claims.failed(first, BROKEN, now() + 20 * HOUR)
    empty_store.deliveries.replay(LOCAL, wants.id, first.event.id)
    assert claim(empty_store, wants).tries == 1


def test_everything_missed_is_replayed_and_nothing_else(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2", "R3")
    empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    empty_store.claims.failed(claim(empty_store, wants), BROKEN, None)
    empty_store.webhooks.change(LOCAL, wants.id, enabled=False)
    with pytest.raises(WebhookDisabled):
        empty_store.deliveries.replay_ended(LOCAL, wants.id)
    empty_store.webhooks.change(LOCAL, wants.id, enabled=True)
    assert empty_store.deliveries.replay_ended(LOCAL, wants.id) == 2
    assert sorted(each.value for each in state(empty_store, wants)) == ["delivered", "waiting", "waiting"]
    assert empty_store.deliveries.replay_ended(LOCAL, wants.id) == 0


def test_a_delivery_of_another_webhook_or_shop_is_unknown(empty_store: Store, pack: Pack) -> None:
    empty_store.shops.create("north", "The shop in the north", "command line")
    wants, other = webhook(empty_store, ISSUED), webhook(empty_store, SUPERSEDED)
    happen(empty_store, pack)
    (delivery,) = log(empty_store, wants)
    for shop, webhook_id in ((LOCAL, other.id), ("north", wants.id)):
        assert empty_store.deliveries.find(shop, webhook_id, delivery.event_id) is None
        assert empty_store.deliveries.of_webhook(shop, webhook_id, 5).items == ()
        with pytest.raises(DeliveryUnknown):
            empty_store.deliveries.replay(shop, webhook_id, delivery.event_id)


def test_the_log_is_read_page_by_page_and_by_state(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    for number in range(5):
        happen(empty_store, pack, f"R{number}")
    empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    read, cursor = [], None
    for size in (2, 2, 1):
        page = empty_store.deliveries.of_webhook(LOCAL, wants.id, 2, cursor)
        assert len(page.items) == size
        read += [each.reference for each in page.items]
        cursor = page.next_cursor
    assert cursor is None
    assert read == ["R4", "R3", "R2", "R1", "R0"]
    (done,) = empty_store.deliveries.of_webhook(LOCAL, wants.id, 5, None, DeliveryState.DELIVERED).items
    assert done.reference == "R0"


def test_what_ended_long_ago_is_removed_and_the_rest_stays(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2", "R3")
    empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    empty_store.claims.failed(claim(empty_store, wants), BROKEN, None)
    ends = now() + RETENTION
    assert empty_store.claims.remove_old(ends - HOUR) == 0
    assert empty_store.claims.remove_old(ends) == 2
    assert state(empty_store, wants) == [DeliveryState.WAITING]
    assert count(empty_store, attempts) == 0
    assert count(empty_store, outbox) == count(empty_store, deliveries) == 1


def test_so_many_are_removed_at_a_time(
    empty_store: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(claims, "REMOVED_AT_ONCE", 2)
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R2", "R3")
    for _ in range(3):
        empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    ends = now() + RETENTION
    for left in (1, 0):
        assert empty_store.claims.remove_old(ends) > 0
        assert count(empty_store, outbox) == count(empty_store, deliveries) == left
    assert empty_store.claims.remove_old(ends) == 0


def test_what_was_entered_as_a_webhook_was_disabled_is_stopped_later(empty_store: Store, pack: Pack) -> None:
    disabled, other = webhook(empty_store, ISSUED), webhook(empty_store, ISSUED)
    happen(empty_store, pack)
    with empty_store._engine.begin() as connection:
        connection.execute(sa.update(webhooks).where(webhooks.c.id == disabled.id).values(disabled_at=now()))
    empty_store.claims.remove_old()
    assert state(empty_store, disabled) == [DeliveryState.STOPPED]
    assert state(empty_store, other) == [DeliveryState.WAITING]


def test_of_many_threads_over_two_stores_nobody_gets_what_another_has(database_url: str, pack: Pack) -> None:
    stores = [open_store(database_url) for _ in range(2)]
    wants = webhook(stores[0], ISSUED)
    happen(stores[0], pack, *(f"R{number}" for number in range(12)))

    def work(turn: int) -> list[tuple[str, int]]:
        store, made = stores[turn % 2], []
        for _ in range(40):
            found = store.claims.claim(LOCAL, wants.id, LEASE)
            if found is not None:
                store.claims.delivered(found, ANSWERED)
                made.append((found.event.id, found.tries))
        return made

    with ThreadPoolExecutor(4) as threads:
        made = [each for found in threads.map(work, range(4)) for each in found]
    assert len(made) == len(set(made)) == 12
    assert {tries for _, tries in made} == {1}
    for store in stores:
        store.close()


def test_what_looks_for_work_does_not_read_the_log(tmp_path: object) -> None:
    """Every second, so it goes by the indexes of the few rows that wait or are under way."""
    store = open_store(f"sqlite:///{tmp_path}/plan.sqlite3")
    plans = []

    @sa.event.listens_for(store._engine, "before_cursor_execute")
    def explain(
        connection: sa.Connection, cursor: object, statement: str, parameters: object, *_: object
    ) -> None:
        if statement.startswith("SELECT"):
            found = connection.connection.cursor()
            found.execute(f"EXPLAIN QUERY PLAN {statement}", parameters)  # type: ignore[arg-type]
            plans.extend(row[3] for row in found.fetchall() if "deliveries" in row[3])

    store.claims.to_be_served(now())
    store.deliveries.waiting()
    store.close()
    assert len(plans) >= 3
    assert all("deliveries_waiting" in plan or "deliveries_leased" in plan for plan in plans), plans
