"""What drivers raise when their database can't be used, in the words of the store.

Only what is the database's own: a statement that is wrong, or a row that breaks a constraint, is passed on.
"""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import (
    DatabaseError,
    DataError,
    IntegrityError,
    InterfaceError,
    NotSupportedError,
    ProgrammingError,
    TimeoutError,
)

from storage.faults import StoreNotWritable, StoreUnavailable

OF_THE_DATABASE = (DatabaseError, InterfaceError, TimeoutError)
"""TimeoutError: no connection came free in time."""

OF_THE_STATEMENT = (DataError, IntegrityError, NotSupportedError, ProgrammingError)
"""Some of the errors above; they say that the service is wrong, or its caller."""

# EFBIG and EDQUOT, a bound on the size of files and a quota, are told as a failed write.
_SQLITE_TAKES_NOTHING = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR_WRITE)
_POSTGRESQL_TAKES_NOTHING = ("53100", "25006")
"""disk_full and read_only_sql_transaction: the codes of its manual, appendix A."""


def unavailable(error: DatabaseError | InterfaceError | TimeoutError, shown_url: str) -> StoreUnavailable:
    """What to raise in place of `error`; the message names the database, for the log."""
    cause = getattr(error, "orig", None) or error
    reason = " ".join(str(cause).split())
    if getattr(cause, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_CANTOPEN:
        reason += "; its folder must be there, and the service must be allowed to write into it"
    if _takes_nothing(cause):
        return StoreNotWritable(f"the database {shown_url} takes no changes: {reason}")
    return StoreUnavailable(f"cannot use the database {shown_url}: {reason}")


def _takes_nothing(cause: BaseException) -> bool:
    if isinstance(cause, sqlite3.Error):
        code = getattr(cause, "sqlite_errorcode", 0)
        return code in _SQLITE_TAKES_NOTHING or code & 0xFF in _SQLITE_TAKES_NOTHING
    return getattr(cause, "sqlstate", None) in _POSTGRESQL_TAKES_NOTHING
