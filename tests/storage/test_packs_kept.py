from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from kept_versions import versions

from rules.pack import Pack
from storage import migrations
from storage.database import engine_for
from storage.faults import CursorRefused
from storage.records import StatedFacts
from storage.shops import LOCAL
from storage.store import Store, open_store


def test_packs_are_listed_page_by_page_last_kept_first(empty_store: Store, pack: Pack) -> None:
    kept = versions(pack, 5)
    for each in kept:
        empty_store.packs.keep(LOCAL, each)
    seen: list[str] = []
    cursor = None
    for size in (2, 2, 1):
        page = empty_store.packs.page(LOCAL, 2, cursor)
        assert len(page.items) == size
        seen += [each.digest for each in page.items]
        cursor = page.next_cursor
    assert cursor is None
    assert seen == [each.digest for each in kept][::-1]
    with pytest.raises(CursorRefused):
        empty_store.packs.page(LOCAL, 2, "x")


def test_what_checks_found_and_how_the_proof_ended_is_kept_with_a_pack(
    empty_store: Store, pack: Pack
) -> None:
    findings = [{"code": "R201", "file": "rules/ä.yaml", "line": 3, "column": 1, "message": "…"}]
    empty_store.packs.keep(LOCAL, pack, findings, "api")
    found = empty_store.packs.find(LOCAL, pack.digest)
    assert found is not None
    assert (found.name, found.version) == (pack.name, pack.version)
    assert (found.findings, found.proven) == (findings, None)
    assert empty_store.packs.proof(LOCAL, pack.digest) is None
    for passed in (False, True):
        proof = empty_store.packs.keep_proof(LOCAL, pack.digest, passed, {"passed": passed, "cells": 2**70})
        assert empty_store.packs.proof(LOCAL, pack.digest) == proof
        found = empty_store.packs.find(LOCAL, pack.digest)
        assert found is not None
        assert found.proven is passed
    assert empty_store.packs.find(LOCAL, "0" * 64) is None


def test_line_items_issued_before_are_found_by_what_they_stated(tmp_path: Path) -> None:
    """A database of the first shape: the migration reads what was stated out of the documents."""
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    engine = engine_for(url)
    with engine.connect() as connection, connection.begin():
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    with engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO packs VALUES ('d', 'old', '1.0.0', '{}', '2026-01-01 00:00:00.000000')"
        )
        for number, material in enumerate(("TPO", "ABS")):
            document = f"""{{"part": {{"material": "{material}"}}, "assumptions": [{{"fact": "through"}}]}}"""
            connection.exec_driver_sql(
                "INSERT INTO procedures VALUES (?, ?, ?, 'd', '2026-01-01 00:00:00.000000')",
                (f"pr-{number}", document, '{"length_mm": 80.0, "through": false}'),
            )
            connection.exec_driver_sql(
                "INSERT INTO line_items VALUES ('R1', ?, ?)",
                (f"pr-{number}", f"2026-01-0{number + 1} 00:00:00.000000"),
            )
    engine.dispose()
    store = open_store(url)
    (situation,) = store.activations.situations(LOCAL)
    assert situation.stated == StatedFacts("ABS", {"length_mm": 80.0})
    assert (situation.pack_digest, situation.line_items, situation.reference) == ("d", 1, "R1")
    with store._engine.connect() as connection:
        assert connection.scalar(sa.text("SELECT procedure_id FROM latest_procedures")) == "pr-1"
    store.close()
