"""Connections that lead only where they may, and that end in time, whatever the other side does."""

from __future__ import annotations

import socket
from collections.abc import Sequence
from threading import Timer
from time import monotonic
from typing import Any

from requests.adapters import HTTPAdapter
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.connectionpool import HTTPConnectionPool, HTTPSConnectionPool

from api.events.addresses import Network, reachable

CONNECT_TIMEOUT_S = 5.0
MOST_ADDRESSES = 4


class NotConnected(Exception):
    """No address of the host took a connection; the message says how that went."""


class OutOfTime(Exception):
    """The deadline came before the connection."""


class Deadline:
    """Ends a connection after so many seconds, in whatever it waits for."""

    def __init__(self, seconds: float) -> None:
        self._ends_s = monotonic() + seconds
        self._watched: socket.socket | None = None
        self._timer: Timer | None = None

    @property
    def left_s(self) -> float:
        """Seconds that are left; none or less when it has passed."""
        return self._ends_s - monotonic()

    def watch(self, connection: socket.socket) -> None:
        """End this connection then. Of a copy: TLS takes the connection itself over."""
        self._watched = connection.dup()
        self._timer = Timer(max(self.left_s, 0), self._end)
        self._timer.daemon = True
        self._timer.start()

    def close(self) -> None:
        """Nothing is watched any more."""
        if self._timer is not None and self._watched is not None:
            self._timer.cancel()
            self._timer.join()
            self._watched.close()

    def _end(self) -> None:
        assert self._watched is not None
        try:
            self._watched.shutdown(socket.SHUT_RDWR)
        except OSError:
            return  # it has ended already


class Guarded(HTTPAdapter):
    """For one request: connects to the addresses that were checked, and to no other."""

    def __init__(self, networks: Sequence[Network], deadline: Deadline) -> None:
        self._networks, self._deadline = networks, deadline
        super().__init__(max_retries=0)

    def init_poolmanager(self, *args: Any, **options: Any) -> None:
        """Called by the library. The host is looked up where it is connected to, so what is read as a host
        can't differ."""
        super().init_poolmanager(*args, **options)
        adapter = self

        class Plain(HTTPConnection):
            def _new_conn(self) -> socket.socket:
                return adapter.connect(self.host, self.port, plain=True)

        class Encrypted(HTTPSConnection):
            def _new_conn(self) -> socket.socket:
                return adapter.connect(self.host, self.port, plain=False)

        class PlainPool(HTTPConnectionPool):
            ConnectionCls = Plain

        class EncryptedPool(HTTPSConnectionPool):
            ConnectionCls = Encrypted

        self.poolmanager.pool_classes_by_scheme = {"http": PlainPool, "https": EncryptedPool}

    def connect(self, host: str, port: int, plain: bool) -> socket.socket:
        """A connection to the first address that takes one.

        Raises NotReachable, NotConnected and OutOfTime.
        """
        told = "the host leads to no address"
        for address in reachable(host, port, self._networks, plain)[:MOST_ADDRESSES]:
            left_s = self._deadline.left_s
            if left_s <= 0:
                raise OutOfTime
            try:
                connection = socket.create_connection(address, min(CONNECT_TIMEOUT_S, left_s))
            except OSError as error:
                told = _told(error)
                continue
            self._deadline.watch(connection)
            return connection
        raise NotConnected(told)


def _told(error: OSError) -> str:
    match error:
        case ConnectionRefusedError():
            return "the connection was refused"
        case TimeoutError():
            return f"no connection within {CONNECT_TIMEOUT_S:.0f} s"
        case _:
            return "no connection could be made"
