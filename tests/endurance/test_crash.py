"""The short form of `make crash`: at moments that differ from run to run."""

from __future__ import annotations

import secrets
from pathlib import Path

from endurance.crash.rounds import WRITERS, Outcome, crash
from endurance.postgresql import Server
from endurance.services import GUNICORN, SERVE

WITHIN_S = 0.6


def hold(outcome: Outcome, kills: int) -> None:
    """Every writer was cut off in the midst of a request, each time."""
    assert outcome.faults == []
    assert outcome.kills == kills
    assert outcome.cut_off.total() == kills * WRITERS
    assert outcome.acknowledged.total() >= kills


def test_after_kill_9_all_that_was_acknowledged_is_in_sqlite_once(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    hold(crash(SERVE, tmp_path, url, 2, secrets.randbelow(10**6), WITHIN_S), 2)


def test_after_kill_9_all_that_was_acknowledged_is_in_postgresql_once(
    own_server: Server, tmp_path: Path
) -> None:
    url = own_server.new_database()
    hold(crash(GUNICORN, tmp_path, url, 1, secrets.randbelow(10**6), WITHIN_S), 1)
