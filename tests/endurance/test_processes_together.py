"""Two services and two workers on one PostgreSQL and one Redis do as one would."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from time import sleep

import pytest
from two_of_each import QUOTA, Together, together
from waiting import until

from bench.line_items import typical_line_items
from endurance.calling import Answer, Caller, Json
from endurance.postgresql import Server
from endurance.redis_server import RedisServer
from rules.loading import BASE_PACK, read_folder
from storage.shops import LOCAL

pytest.importorskip("redis", reason="needs redis (the extra `redis`)")

RACES = 20


@pytest.fixture(scope="module")
def both(
    own_server: Server, own_redis: RedisServer, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Together]:
    with together(tmp_path_factory.mktemp("together"), own_server.new_database(), own_redis) as both:
        yield both


def line_item(reference: str) -> Json:
    return {**typical_line_items()[0].body, "line_item": {"reference": reference}}


def issue_at_once(callers: tuple[Caller, Caller], body: Json, key: str) -> list[Answer]:
    """The same request, with its key, by both at the same moment."""
    barrier = Barrier(len(callers))

    def issue(caller: Caller) -> Answer:
        barrier.wait()
        return caller.post("/v1/procedures", body, key)

    with ThreadPoolExecutor(len(callers)) as threads:
        return list(threads.map(issue, callers))


def test_of_one_key_at_both_at_once_one_does_the_work(both: Together) -> None:
    callers = both.callers("racing")
    for number in range(RACES):
        body, key = line_item(f"RO-{number}"), f"k{number}"
        answers = issue_at_once(callers, body, key)
        (first,) = (each for each in answers if each.status == 201 and not each.replayed)
        for each in answers:
            assert each.status in (201, 409)
            assert each.status == 409 or each.body == first.body
    again = [each.post("/v1/procedures", body, key) for each in callers]
    assert [(each.replayed, each.body) for each in again] == [(True, first.body)] * 2


def test_a_quota_counts_what_is_asked_of_both(both: Together) -> None:
    callers = both.callers("counted")
    statuses = Counter(each.get("/v1/substrates").status for _ in range(QUOTA) for each in callers)
    assert statuses == {200: QUOTA, 429: QUOTA}


def test_a_pack_put_in_force_through_one_is_in_force_in_the_other(both: Together) -> None:
    one, other = both.callers(LOCAL)
    files = dict(read_folder(BASE_PACK))
    files["pack.yaml"] = files["pack.yaml"].replace("version: 1.0.0", "version: 1.0.1")
    digest = one.post("/v1/packs", {"files": files}).json()["digest"]
    assert one.post(f"/v1/packs/{digest}/proof", {}).json()["passed"]
    seen = {"If-Match": one.get("/v1/packs/active").headers["ETag"]}
    put = one.send("PUT", "/v1/packs/active", json.dumps({"digest": digest}).encode(), headers=seen)
    assert put.status == 200, put.body
    until(lambda: other.get("/readyz").json()["pack"]["digest"] == digest)
    assert other.post("/v1/procedures", line_item("RO-new")).json()["pack"]["digest"] == digest


def listen(both: Together, caller: Caller) -> Callable[[], list[Json]]:
    """Let the endpoint be told of what is issued; what reads the log of its deliveries."""
    made = caller.post("/v1/webhooks", {"url": both.receiver.url, "events": ["procedure.issued"]})
    assert made.status == 201, made.body
    address = f"/v1/webhooks/{made.json()['id']}/deliveries?limit=100"

    def deliveries() -> list[Json]:
        found: list[Json] = caller.get(address).json()["items"]
        return found

    return deliveries


def test_an_event_in_either_is_told_once(both: Together) -> None:
    callers = both.callers("listening")
    deliveries, before = listen(both, callers[1]), len(both.receiver.heard)
    for number in range(10):
        assert callers[number % 2].post("/v1/procedures", line_item(f"RO-{number}")).status == 201
    until(lambda: [each["state"] for each in deliveries()] == ["delivered"] * 10)
    heard = both.receiver.heard[before:]
    assert sorted(heard) == sorted(each["id"] for each in deliveries())
    assert len(set(heard)) == 10


def test_workers_outlive_their_queue_and_their_database(
    both: Together, own_server: Server, own_redis: RedisServer
) -> None:
    callers = both.callers("waiting")
    deliveries = listen(both, callers[0])
    own_redis.stop()
    try:
        assert callers[0].post("/v1/procedures", line_item("RO-1")).status == 201
        sleep(2)
    finally:
        own_redis.start()
    own_server.crash_and_start()
    until(lambda: callers[1].get("/readyz").status == 200)
    assert callers[1].post("/v1/procedures", line_item("RO-2")).status == 201
    until(lambda: [each["state"] for each in deliveries()] == ["delivered"] * 2)
    assert {each["id"] for each in deliveries()} <= set(both.receiver.heard)
    assert [worker.poll() for worker in both.workers] == [None, None]
