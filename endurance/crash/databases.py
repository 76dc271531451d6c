"""Looks into a database past the service: what it holds, whether it is whole, and time that passes in it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime

from sqlalchemy import Engine, Table, func, select, update

from storage.database import engine_for
from storage.tables import idempotency, line_items, procedures


class Database:
    """A database by its URL."""

    def __init__(self, url: str) -> None:
        self.url = url
        self._engine: Engine = engine_for(url)

    def let_leases_end(self) -> None:
        """As if two minutes had passed: keys of requests that nobody works on any more are free again."""
        with self._engine.begin() as connection:
            running = idempotency.c.status.is_(None)
            connection.execute(update(idempotency).where(running).values(expires_at=datetime.now(UTC)))

    def faults(self, expected_procedures: int) -> Iterator[str]:
        """What is wrong with it, if it is to hold so many procedures, each of one line item."""
        for table in (procedures, line_items):
            found = self._count(table)
            if found != expected_procedures:
                yield f"{found} rows in {table.name}, not {expected_procedures}"
        if self._engine.dialect.name == "sqlite":
            yield from self._faults_of_file()
        command = [sys.executable, "-m", "api.commands", "audit", "verify", "--database", self.url]
        verified = subprocess.run(command, capture_output=True, text=True, check=False)
        if verified.returncode:
            yield f"stagewright audit verify: {verified.stdout}{verified.stderr}"

    def close(self) -> None:
        self._engine.dispose()

    def _count(self, table: Table) -> int:
        with self._engine.connect() as connection:
            return connection.execute(select(func.count()).select_from(table)).scalar_one()

    def _faults_of_file(self) -> Iterator[str]:
        with self._engine.connect() as connection:
            told = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
            if list(told) != ["ok"]:
                yield f"integrity_check: {told}"
            for row in connection.exec_driver_sql("PRAGMA foreign_key_check"):
                yield f"foreign_key_check: {row}"
