from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from stepping import step_to
from webhooks_kept import ANSWERED, claim, happen, log, webhook

from rules.pack import Pack
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import metadata
from storage.webhook_records import ISSUED, TEST

BEFORE, AFTER = "0005", "0006"
TABLES = {"webhooks", "deliveries", "delivery_attempts"}

AN_OLD_DATABASE = """
INSERT INTO packs (digest, name, version, files, kept_at, findings)
    VALUES ('sha256:1', 'invented', '1.0.0', '{}', '2027-03-01 08:00:00', '[]');
INSERT INTO procedures (shop, id, document, facts, pack_digest, issued_at)
    VALUES ('local', 'pr-1', '{}', '{}', 'sha256:1', '2027-03-01 08:00:00'),
           ('local', 'pr-2', '{}', '{}', 'sha256:1', '2027-03-01 08:00:00');
INSERT INTO activations (number, pack_digest, effective_from, activated_at, origin)
    VALUES (1, 'sha256:1', '2027-03-01 08:00:00', '2027-03-01 08:00:00', 'api');
INSERT INTO outbox (event, shop, reference, procedure_id, activation, created_at)
    VALUES ('procedure.superseded', 'local', 'R1', 'pr-1', 1, '2027-03-01 08:00:00'),
           ('procedure.superseded', 'local', 'R2', 'pr-2', 1, '2027-03-01 08:00:00')
"""


def tables(store: Store) -> set[str]:
    return set(sa.inspect(store._engine).get_table_names())


def execute(store: Store, script: str) -> None:
    with store._engine.begin() as connection:
        for statement in script.split(";"):
            connection.execute(sa.text(statement))


def rows(store: Store, columns: str) -> list[dict[str, Any]]:
    with store._engine.connect() as connection:
        query = sa.text(f"SELECT {columns} FROM outbox ORDER BY number")
        return [dict(row) for row in connection.execute(query).mappings()]


OLD = "number, event, shop, reference, procedure_id, activation, created_at"


def test_what_was_in_the_outbox_stays_and_waits_for_nobody(empty_store: Store) -> None:
    step_to(empty_store._engine, BEFORE)
    execute(empty_store, AN_OLD_DATABASE)
    before = rows(empty_store, OLD)
    step_to(empty_store._engine, AFTER)
    assert rows(empty_store, OLD) == before
    ids = [row["id"] for row in rows(empty_store, "id")]
    assert len(set(ids)) == 2
    assert all(each.startswith("ev_") and len(each) == 35 for each in ids)
    assert empty_store.deliveries.waiting() == 0
    with pytest.raises(sa.exc.IntegrityError):
        execute(
            empty_store,
            "INSERT INTO outbox (id, event, shop, reference, procedure_id, activation, created_at) VALUES"
            " ('ev_3', 'procedure.superseded', 'local', 'R1', 'pr-1', 1, '2027-03-01 08:00:00')",
        )
    step_to(empty_store._engine, BEFORE)
    assert rows(empty_store, OLD) == before
    assert rows(empty_store, "delivered_at") == [{"delivered_at": None}] * 2
    assert not TABLES & tables(empty_store)


def test_webhooks_and_their_log_come_and_go_with_their_step(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store)
    (procedure,) = happen(empty_store, pack, "R1")
    empty_store.claims.delivered(claim(empty_store, wants), ANSWERED)
    empty_store.webhooks.test(LOCAL, wants.id)
    assert sorted(each.event for each in log(empty_store, wants)) == [ISSUED, TEST]
    step_to(empty_store._engine, BEFORE)
    assert not TABLES & tables(empty_store)
    assert rows(empty_store, OLD) == []
    step_to(empty_store._engine, "head")
    assert empty_store.procedure(LOCAL, procedure.id) == procedure
    assert empty_store.webhooks.all(LOCAL) == ()
    again = webhook(empty_store)
    happen(empty_store, pack, "R2")
    assert [each.reference for each in log(empty_store, again)] == ["R2"]


def test_what_was_told_counts_as_told_in_the_database_before(empty_store: Store) -> None:
    step_to(empty_store._engine, BEFORE)
    execute(empty_store, AN_OLD_DATABASE)
    step_to(empty_store._engine, AFTER)
    execute(
        empty_store,
        """
        INSERT INTO webhooks (shop, id, url, events, secrets, created_at)
            VALUES ('local', 'wh_1', 'https://shop.example', 'procedure.superseded', '[]',
                    '2027-03-01 08:00:00');
        INSERT INTO deliveries (shop, webhook_id, event_id, state, created_at, due_at, tries, ended_at)
            SELECT 'local', 'wh_1', id, 'delivered', created_at, NULL, 1, '2027-03-02 09:00:00'
            FROM outbox WHERE reference = 'R1';
        INSERT INTO deliveries (shop, webhook_id, event_id, state, created_at, due_at, tries)
            SELECT 'local', 'wh_1', id, 'waiting', created_at, created_at, 0
            FROM outbox WHERE reference = 'R2'
        """,
    )
    step_to(empty_store._engine, BEFORE)
    told = [row["delivered_at"] is not None for row in rows(empty_store, "delivered_at")]
    assert told == [True, False]


def test_the_step_makes_the_tables_that_the_code_knows(empty_store: Store) -> None:
    own = TABLES | {"outbox"}

    def is_own(thing: Any, name: str | None, kind: str, _reflected: bool, _other: Any) -> bool:
        return name in own if kind == "table" else True

    with empty_store._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"include_object": is_own})
        assert compare_metadata(context, metadata) == []
