"""PostgreSQL connections on which nobody waits for ever.

The timeouts of the server bound what it does while it is well. One that stands still (its machine is paused,
its disk does not answer) keeps to none of them, and its machine still confirms every packet.
"""

from __future__ import annotations

from collections.abc import Generator
from typing import Any, TypeVar

import psycopg
from psycopg.pq import TransactionStatus
from sqlalchemy import Connection, Engine, event

WITHIN_S = 40.0
"""Longer than a server that is well lets a statement take."""

T = TypeVar("T")


class PatientConnection(psycopg.Connection[Any]):
    """Given up where the server lets it wait for `within_s`; None: it waits for as long as that takes."""

    within_s: float | None = WITHIN_S

    def wait(self, gen: Generator[Any, Any, T], interval: float = 0.1, timeout: float | None = None) -> T:
        """Everything that is asked of the server comes through here. Raises psycopg.OperationalError."""
        try:
            return super().wait(gen, interval, self.within_s if timeout is None else timeout)
        except psycopg.OperationalError:
            if self.pgconn.transaction_status == TransactionStatus.ACTIVE:
                # An answer that still came would be taken for that to the next question.
                self.pgconn.finish()
            raise


def be_patient(engine: Engine) -> None:
    """Let the connections of an engine be given up where the server stands still."""

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: Any, _record: Any, arguments: Any, options: Any) -> PatientConnection:
        return PatientConnection.connect(*arguments, **options)

    @event.listens_for(engine, "checkin")
    def take_back(connection: PatientConnection | None, _record: Any) -> None:
        if connection is not None:
            connection.within_s = WITHIN_S


def wait_as_long_as_it_takes(connection: Connection) -> None:
    """Do not give this connection up, until it is given back."""
    driver_connection = connection.connection.driver_connection
    assert isinstance(driver_connection, PatientConnection)
    driver_connection.within_s = None
