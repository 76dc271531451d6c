from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any

from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import activate, coats, is_closed, keep, line_item, version
from sqlalchemy import select

from api.packs.at_work import active_pack
from api.snapshot import Snapshot, Uses
from rules.pack import Pack
from storage.tables import procedures

CLIENTS = 8
ACTIVATIONS = 10


def post_until(app: Flask, client: int, stop: Event) -> list[tuple[str, list[int]]]:
    """Post line items until told to stop: the digest and the coats of every answer."""
    shop = FlaskClient(app)
    answers = []
    number = 0
    while not stop.is_set() or number < 5:
        number += 1
        response = shop.post("/v1/procedures", json=line_item(f"R{client}-{number}"))
        assert response.status_code == 201, response.text
        document: Any = response.json
        answers.append((document["pack"]["digest"], coats(document)))
    return answers


def test_packs_alternate_under_load_without_a_failed_or_a_mixed_answer(service: Flask) -> None:
    packs = [snapshot(service).pack, keep(service, version(3))]
    keep(service, version(2))  # proven
    expected = {packs[0].digest: [2], packs[1].digest: [3]}
    taken: list[Snapshot] = [snapshot(service)]
    stop, admin = Event(), service.test_client()
    with ThreadPoolExecutor(CLIENTS) as threads:
        running = [threads.submit(post_until, service, client, stop) for client in range(CLIENTS)]
        try:
            for number in range(1, ACTIVATIONS + 1):
                response = activate(admin, packs[number % 2].digest)
                assert response.status_code == 200, response.text
                taken.append(snapshot(service))
                active_pack(service).follow()
        finally:
            stop.set()
        answers = [answer for each in running for answer in each.result()]
    assert len(answers) >= 5 * CLIENTS
    assert {digest for digest, _ in answers} <= expected.keys()
    assert all(found == expected[digest] for digest, found in answers)
    assert [each.activation for each in taken] == list(range(1, ACTIVATIONS + 2))
    assert [is_closed(each.decider.engine) for each in taken[:-1]] == [True] * ACTIVATIONS
    assert not is_closed(taken[-1].decider.engine)
    assert kept_digests_agree(service, packs)
    report = snapshot(service).store.audit.verify()
    assert report.faults == ()


def kept_digests_agree(app: Flask, packs: list[Pack]) -> bool:
    """Whether every kept document names the pack it is filed under."""
    with snapshot(app).store._engine.connect() as connection:
        rows = connection.execute(select(procedures.c.document, procedures.c.pack_digest)).all()
    others = {packs[0].digest: packs[1].digest, packs[1].digest: packs[0].digest}
    return all(
        row.pack_digest in row.document and others[row.pack_digest] not in row.document for row in rows
    )


def test_a_snapshot_is_closed_once_after_its_last_use_and_not_taken_any_more() -> None:
    uses, closed = Uses(), list[str]()
    assert uses.begin()
    assert uses.begin()
    uses.close(lambda: closed.append("closed"))
    assert not uses.begin()
    uses.end()
    assert closed == []
    uses.end()
    assert closed == ["closed"]


def test_a_snapshot_that_nobody_uses_is_closed_at_once() -> None:
    uses, closed = Uses(), list[str]()
    assert uses.begin()
    uses.end()
    uses.close(lambda: closed.append("closed"))
    assert closed == ["closed"]
