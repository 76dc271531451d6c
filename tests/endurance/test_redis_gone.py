"""Redis, where requests are counted, is gone: nobody is held up, and then all are counted again."""

from __future__ import annotations

from collections.abc import Iterator
from time import sleep

import pytest

from endurance.calling import Caller
from endurance.redis_server import RedisServer
from endurance.services import SERVE, Service, running

pytest.importorskip("redis", reason="needs redis (the extra `redis`)")

LOOKS = 200


@pytest.fixture(scope="module")
def service(own_redis: RedisServer, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("counted")
    settings = {"RATE_STORAGE": own_redis.url, "RATE_LIMIT": "10000"}
    with running(SERVE, folder, f"sqlite:///{folder}/store.sqlite3", **settings) as service:
        yield service


def is_counted(service: Service) -> bool:
    """Whether a request, which is answered in any case, is counted."""
    answer = Caller(service.port).get("/v1/substrates")
    assert answer.status == 200
    return "RateLimit" in answer.headers


def await_counting(service: Service) -> None:
    for _ in range(LOOKS):
        if is_counted(service):
            return
        sleep(0.1)
    raise AssertionError("requests are not counted again")


def test_a_server_that_has_ended(service: Service, own_redis: RedisServer) -> None:
    await_counting(service)
    own_redis.stop()
    try:
        assert [is_counted(service) for _ in range(20)] == [False] * 20
        assert Caller(service.port).get("/readyz").status == 200
        # It is not asked, and not told of, time and again.
        assert service.log.read_text().count("are not counted, so nobody is held up") <= 3
    finally:
        own_redis.start()
    await_counting(service)


def test_a_server_that_stands_still(service: Service, own_redis: RedisServer) -> None:
    """Whoever comes first waits for a second, and for some seconds nobody else does."""
    await_counting(service)
    with own_redis.held_still():
        assert [is_counted(service) for _ in range(100)] == [False] * 100
    await_counting(service)
