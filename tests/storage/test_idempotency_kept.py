"""Keys of requests: one winner, its answer, an end; on both databases, over threads and processes."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import sqlalchemy as sa
from kept_versions import CRACK
from stepping import step_to

from rules.pack import Pack
from storage.idempotency import LEASE, LIFETIME, Asked, Begun, GivenAnswer, Taken
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store, open_store

NOW = datetime(2027, 3, 2, 8, 15, tzinfo=UTC)
ANSWER = GivenAnswer(201, {"Location": "/v1/procedures/pr-1"}, "{“é”}".encode())
MOMENT = timedelta(microseconds=1)


def new_key() -> str:
    return uuid4().hex


def begun(store: Store, key: str, now: datetime = NOW, digest: str = "a" * 64, shop: str = LOCAL) -> object:
    (outcome,) = store.idempotency.begin(shop, [Asked(key, digest)], now)
    return outcome


def held(store: Store, key: str, now: datetime = NOW) -> Begun:
    outcome = begun(store, key, now)
    assert isinstance(outcome, Begun)
    return outcome


def test_the_first_is_begun_the_second_waits_and_a_later_one_gets_the_answer(store: Store) -> None:
    key = new_key()
    first = held(store, key)
    assert begun(store, key) is Taken.RUNNING
    store.idempotency.finish(LOCAL, [(first, ANSWER)], NOW)
    assert begun(store, key) == ANSWER


def test_another_request_with_the_key_is_told_apart_before_and_after_the_answer(store: Store) -> None:
    key = new_key()
    first = held(store, key)
    assert begun(store, key, digest="b" * 64) is Taken.DIFFERENT
    store.idempotency.finish(LOCAL, [(first, ANSWER)], NOW)
    assert begun(store, key, digest="b" * 64) is Taken.DIFFERENT


def test_a_key_of_one_shop_is_free_to_another(store: Store) -> None:
    key, shop = new_key(), f"shop-{uuid4().hex[:8]}"
    store.shops.create(shop, "invented", "command line")
    store.idempotency.finish(LOCAL, [(held(store, key), ANSWER)], NOW)
    assert isinstance(begun(store, key, shop=shop), Begun)
    assert begun(store, key) == ANSWER


def test_a_freed_key_is_begun_anew(store: Store) -> None:
    key = new_key()
    store.idempotency.free(LOCAL, [held(store, key)])
    assert isinstance(begun(store, key, digest="b" * 64), Begun)


def test_a_lease_ends_and_what_comes_late_from_the_first_changes_nothing(store: Store) -> None:
    key = new_key()
    first = held(store, key)
    assert begun(store, key, NOW + LEASE - MOMENT) is Taken.RUNNING
    second = held(store, key, NOW + LEASE)
    store.idempotency.finish(LOCAL, [(first, GivenAnswer(500, {}, b""))], NOW + LEASE)
    store.idempotency.free(LOCAL, [first])
    assert begun(store, key, NOW + LEASE) is Taken.RUNNING
    store.idempotency.finish(LOCAL, [(second, ANSWER)], NOW + LEASE)
    assert begun(store, key, NOW + LEASE) == ANSWER


def test_an_answer_lives_a_day_and_is_removed_then(empty_store: Store) -> None:
    keys, old, young = empty_store.idempotency, new_key(), new_key()
    keys.finish(LOCAL, [(held(empty_store, old), ANSWER)], NOW)
    keys.finish(LOCAL, [(held(empty_store, young), ANSWER)], NOW + MOMENT)
    assert begun(empty_store, old, NOW + LIFETIME - MOMENT) == ANSWER
    assert keys.remove_expired(NOW + LIFETIME - MOMENT) == 0
    assert keys.remove_expired(NOW + LIFETIME) == 1
    assert begun(empty_store, young, NOW + LIFETIME) == ANSWER
    assert isinstance(begun(empty_store, old, NOW), Begun)


def test_an_expired_answer_is_not_given_even_before_it_is_removed(store: Store) -> None:
    key = new_key()
    store.idempotency.finish(LOCAL, [(held(store, key), ANSWER)], NOW)
    second = held(store, key, NOW + LIFETIME)
    assert begun(store, key, NOW + LIFETIME) is Taken.RUNNING
    store.idempotency.free(LOCAL, [second])


def test_many_keys_at_once_come_back_in_their_order(store: Store) -> None:
    keys = [new_key() for _ in range(5)]
    first = held(store, keys[2])
    store.idempotency.finish(LOCAL, [(first, ANSWER)], NOW)
    outcomes = store.idempotency.begin(LOCAL, [Asked(key, "a" * 64) for key in keys], NOW)
    assert outcomes[2] == ANSWER
    assert [each.key for each in outcomes if isinstance(each, Begun)] == keys[:2] + keys[3:]


def test_of_many_threads_one_wins_every_key(store: Store) -> None:
    keys = [new_key() for _ in range(10)]

    def ask(turn: int) -> list[object]:
        asked = [Asked(key, "a" * 64) for key in (keys if turn % 2 else reversed(keys))]
        return list(store.idempotency.begin(LOCAL, asked))

    with ThreadPoolExecutor(4) as threads:
        outcomes = [each for outcome in threads.map(ask, range(8)) for each in outcome]
    won = [each.key for each in outcomes if isinstance(each, Begun)]
    assert sorted(won) == sorted(keys)
    assert all(each is Taken.RUNNING for each in outcomes if not isinstance(each, Begun))


PROCESS = """
import sys
from storage.idempotency import Asked, Begun
from storage.store import open_store
store = open_store(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
for key in sys.argv[2].split():
    (outcome,) = store.idempotency.begin("local", [Asked(key, "a" * 64)])
    print(key if isinstance(outcome, Begun) else "", flush=True)
store.close()
"""


def test_of_two_processes_one_wins_every_key(database_url: str) -> None:
    open_store(database_url).close()
    keys = [new_key() for _ in range(30)]
    command = [sys.executable, "-c", PROCESS, database_url, " ".join(keys)]
    racers = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for racer in racers:
        assert racer.stdout is not None
        assert racer.stdout.readline() == "ready\n"
    for racer in racers:
        assert racer.stdin is not None
        racer.stdin.write("\n")
        racer.stdin.flush()
    won = [key for racer in racers for key in racer.communicate()[0].split()]
    assert sorted(won) == sorted(keys)


def test_the_step_comes_and_goes_and_procedures_stay(
    empty_store: Store, pack: Pack, issue: Callable[..., KeptProcedure]
) -> None:
    def tables() -> set[str]:
        return set(sa.inspect(empty_store._engine).get_table_names())

    empty_store.keep_pack(pack)
    procedure = empty_store.keep_procedure(LOCAL, issue(), CRACK)
    key = new_key()
    empty_store.idempotency.finish(LOCAL, [(held(empty_store, key), ANSWER)], NOW)
    step_to(empty_store._engine, "0004")
    assert "idempotency" not in tables()
    assert empty_store.procedure(LOCAL, procedure.id) == procedure
    step_to(empty_store._engine, "head")
    first = held(empty_store, key)
    empty_store.idempotency.finish(LOCAL, [(first, ANSWER)], NOW)
    assert begun(empty_store, key) == ANSWER
