"""What a database or a copy of it holds, so far as a backup must know."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, inspect, select, text

from storage.audit import START
from storage.faults import BackupRefused
from storage.migrations import knows
from storage.tables import audit, procedures

VERSION = "alembic_version"
"""The table of the step that a database has reached."""


@dataclass(frozen=True)
class Contents:
    """How many procedures and audit entries, and the hash of the last entry."""

    procedures: int
    entries: int
    head: str


def contents_of(connection: Connection) -> Contents:
    """What is there now."""
    last = connection.execute(
        select(audit.c.number, audit.c.hash).order_by(audit.c.number.desc()).limit(1)
    ).first()
    count = connection.scalar(select(func.count()).select_from(procedures)) or 0
    return Contents(count, last.number if last else 0, last.hash if last else START)


def refuse_foreign(connection: Connection, named: str) -> None:
    """Raises BackupRefused where this is no database of the service, or one of a later version."""
    found = inspect(connection).get_table_names()
    if not {VERSION, audit.name, procedures.name} <= set(found):
        raise BackupRefused(f"{named} is no database of this service")
    refuse_later(str(connection.scalar(text(f"SELECT version_num FROM {VERSION}"))), named)


def refuse_later(step: str, named: str) -> None:
    """Raises BackupRefused for a step that this version of the service does not have."""
    if not knows(step):
        told = f"{named} is of a later version of the service (step {step[:40]}); use that version"
        raise BackupRefused(told)
