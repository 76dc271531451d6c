"""What shops have put in force, in every process and in requests under way."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask, g
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, store_of
from packs_at_hand import (
    activate,
    coats,
    etag,
    in_an_hour,
    is_closed,
    issue,
    keep,
    line_item,
    make_due,
    told,
    version,
)
from shop_packs_at_hand import house_rules, keep_for, superseded

from api.application import Settings, create_app
from api.issuing import issue as issue_for
from api.packs.activating import RECENT
from api.packs.at_work import active_pack
from api.snapshot import current
from schemas.line_item.body import ProcedureRequest
from storage.activations import State
from storage.audit import Who
from storage.shops import LOCAL
from storage.tables import activations


def other_process(app: Flask) -> Flask:
    """Another process on the same database."""
    url = str(store_of(app)._engine.url)
    return create_app(Settings(url, Path(url.removeprefix("sqlite:///")).parent / "pack"))


def test_another_process_follows_and_finds_what_is_in_force_when_it_starts(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    other = other_process(keyed)
    mine = keep_for(keyed, NORTH, house_rules(5))
    activate(north, mine.digest)
    in_other = caller(other, NORTH)
    assert coats(issue(in_other, reference="before it looked")) == [2]
    assert superseded(keyed) == []
    active_pack(other).follow()
    assert coats(issue(in_other, reference="after")) == [5]
    assert coats(issue(caller(other, SOUTH))) == [2]
    # What was issued there in between is told.
    assert superseded(keyed) == [(NORTH, "before it looked")]
    store_of(other).close()
    started = other_process(keyed)
    assert coats(issue(caller(started, NORTH))) == [5]
    north.post("/v1/packs/active/rollback", headers={"If-Match": etag(north)})
    active_pack(started).follow()
    assert coats(issue(caller(started, NORTH))) == [2]
    store_of(started).close()


def test_a_request_under_way_ends_with_the_pack_it_began_with_and_its_line_item_is_told(
    keyed: Flask, north: FlaskClient
) -> None:
    """Also where it began while the shop still followed the service, whose pack stays in use."""
    for number, pack in enumerate([keep_for(keyed, NORTH, house_rules(wanted)) for wanted in (5, 6)]):
        with keyed.test_request_context("/"):
            g.caller = Who(NORTH, None)
            began = current()
            with ThreadPoolExecutor(1) as beside:
                assert beside.submit(activate, north, pack.digest).result().status_code == 200
            kept = issue_for(ProcedureRequest().load(line_item(f"under way {number}")), current())
            assert kept.pack_digest == began.pack.digest != pack.digest
        active_pack(keyed).follow()
        assert superseded(keyed)[-1:] == [(NORTH, f"under way {number}")]
    assert is_closed(began.decider.engine)


def test_a_pack_that_cannot_be_read_any_more_stops_its_shop_and_no_other(
    keyed: Flask, north: FlaskClient, south: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    activate(north, mine.digest)
    with store_of(keyed)._engine.begin() as connection:
        connection.exec_driver_sql(
            f"UPDATE packs SET files = '{{\"small\": {{}}}}' WHERE digest = '{mine.digest}'"
        )
    started = other_process(keyed)
    again = caller(started, NORTH)
    for _ in range(2):
        told(again.post("/v1/procedures", json=line_item()), 500, "pack-unusable")
        told(again.get("/v1/substrates"), 500, "pack-unusable")
    assert coats(issue(caller(started, SOUTH))) == [2]
    # The shop can still help itself.
    assert again.get("/v1/packs/active").get_json()["pack"]["digest"] == mine.digest
    assert activate(again, None).status_code == 200
    assert coats(issue(again)) == [2]
    store_of(started).close()


@pytest.mark.parametrize("decides_last", [NORTH, LOCAL])
def test_a_shop_that_is_made_anew_after_its_deletion_has_nothing_of_the_one_before(
    keyed: Flask, north: FlaskClient, decides_last: str
) -> None:
    """Whoever decided last, as seen by a process that has worked by its rules."""
    other, store = other_process(keyed), store_of(keyed)
    for wanted in (5, 6):
        activate(north, keep_for(keyed, NORTH, house_rules(wanted)).digest)
    if decides_last == LOCAL:
        same = {**version(2), "more.yaml": "cases: []\n"}
        activate(caller(keyed, LOCAL), keep(keyed, same).digest)
    active_pack(other).follow()
    assert coats(issue(caller(other, NORTH))) == [6]
    store.shop_removal.delete(NORTH, "command line")
    active_pack(other).follow()
    store.shops.create(NORTH, "Another shop of that name", "command line")
    anew = caller(other, NORTH)
    assert coats(issue(anew)) == [2]
    activate(caller(keyed, NORTH), keep_for(keyed, NORTH, house_rules(7)).digest)
    active_pack(other).follow()
    assert coats(issue(anew)) == [7]
    store_of(other).close()


def test_what_is_decided_while_a_process_looks_is_not_forgotten(
    keyed: Flask, north: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine, known = keep_for(keyed, NORTH, house_rules(5)), store_of(keyed).activations
    look = known.state

    def looks_late(at: datetime) -> State:
        activate(north, mine.digest)
        return look(at)

    monkeypatch.setattr(known, "state", looks_late)
    active_pack(keyed).follow()
    assert coats(issue(north)) == [5]


def test_a_process_that_starts_tells_what_took_force_while_none_ran(keyed: Flask, north: FlaskClient) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    issue(north, reference="R1")
    activate(north, mine.digest, effective_from=in_an_hour())
    make_due(keyed, 1, NORTH)
    long_ago = datetime.now(UTC) - 3 * RECENT
    with store_of(keyed)._engine.begin() as connection:
        connection.execute(
            activations.update()
            .where(activations.c.shop == NORTH)
            .values(activated_at=long_ago, effective_from=long_ago + RECENT)
        )
    started = other_process(keyed)
    active_pack(started).follow()
    assert superseded(keyed) == [(NORTH, "R1")]
    store_of(started).close()
