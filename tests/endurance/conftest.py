from collections.abc import Iterator

import pytest

from endurance.postgresql import NoServer, Server, server
from endurance.redis_server import NoRedis, RedisServer, redis_server


@pytest.fixture(scope="session")
def own_server() -> Iterator[Server]:
    """A PostgreSQL server that may be stopped; whoever stops it starts it again."""
    try:
        with server() as own:
            yield own
    except NoServer as lacking:
        pytest.skip(str(lacking))


@pytest.fixture(scope="session")
def own_redis() -> Iterator[RedisServer]:
    """A Redis server that may be stopped; whoever stops it starts it again."""
    try:
        with redis_server() as own:
            yield own
    except NoRedis as lacking:
        pytest.skip(str(lacking))
