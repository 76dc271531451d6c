"""The queue of turns that workers share: a file by default, Redis where there are several machines.

What is in it can be lost without harm, as the database says what is due. It holds names only, as JSON: huey
would unpickle, which lets whoever can write to the queue run anything.
"""

from __future__ import annotations

import json
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlsplit

from huey import Huey, RedisHuey, SqliteHuey
from huey.registry import Message

NAME = "stagewright"
PATIENCE_S = 10
"""So long Redis may say nothing; longer than a thread waits for a turn."""

FILE, REDIS = "sqlite:///", ("redis://", "rediss://")


class QueueRefused(ValueError):
    """There can't be a queue there; the message says why, and does not quote it."""


class _Names:
    """Writes and reads the messages of huey as JSON."""

    def serialize(self, message: Message) -> bytes:
        return json.dumps(message).encode()

    def deserialize(self, data: bytes) -> Message:
        return Message(*json.loads(data))


def refuse_queue(url: str) -> None:
    """Raises QueueRefused for what is not written like a queue; whether it answers shows later."""
    if url.startswith(FILE):
        if not url.removeprefix(FILE).strip("/"):
            raise QueueRefused("it names no file")
        return
    if not url.startswith(REDIS):
        raise QueueRefused("write sqlite:///FILE or redis://HOST:PORT/NUMBER")
    if find_spec("redis") is None:
        raise QueueRefused("Redis needs its driver; install stagewright[redis]")
    try:
        complete = urlsplit(url).hostname is not None and urlsplit(url).port != 0
    except ValueError:
        complete = False
    if not complete:
        raise QueueRefused("write redis://HOST:PORT/NUMBER")


def queue_at(url: str, name: str = NAME) -> Huey:
    """The queue; raises QueueRefused for a URL that is none, and what its storage raises."""
    refuse_queue(url)
    options: dict[str, Any] = {"results": False, "serializer": _Names()}
    if url.startswith(FILE):
        return SqliteHuey(name, filename=url.removeprefix(FILE), **options)
    return RedisHuey(name, connection_pool=_redis(url), **options)


def _redis(url: str) -> Any:
    # The driver is an extra, which not everybody installs.
    from redis import ConnectionPool

    return ConnectionPool.from_url(url, socket_connect_timeout=PATIENCE_S, socket_timeout=PATIENCE_S)
