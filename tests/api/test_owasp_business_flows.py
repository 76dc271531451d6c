"""API6:2023 Unrestricted Access to Sensitive Business Flows (OWASP API Security Top 10, 2023): what a script
with a good key can do a thousand times over, and what holds it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from checked_client import Json
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, keyed_service, store_of
from packs_at_hand import activate, coats, etag, issue, keep, line_item, told, version
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from api.keys.scopes import LINE_ITEMS, RULES
from planning.learning.guards import MOST_TIMES
from storage.shops import LOCAL
from storage.tables import line_items, procedures

QUOTA = 12
NOBODYS = "pr-" + "0" * 32
STAGE = "wash"
Ask = Callable[[FlaskClient], TestResponse]


@pytest.fixture
def limited(tmp_path: Path) -> Iterator[Flask]:
    """A service with keys that holds every shop to a quota."""
    app = keyed_service(tmp_path, rate_limit=QUOTA, rate_window_s=3600)
    yield app
    store_of(app).close()


# Issuing in masses, to weigh the service down or to read the rules off its answers.


def posting(path: str, **body: Any) -> Ask:
    return lambda client: client.post(path, json=body)


FLOWS: dict[str, Ask] = {
    "issuing": posting("/v1/procedures", **line_item()),
    "trying": posting("/v1/procedures?dry_run=true", **line_item()),
    "guessing at facts": posting("/v1/procedures", **line_item(kind="crak")),
    "a batch": posting("/v1/procedures/batch", line_items=[line_item("R1")]),
    "reading by reference": lambda client: client.get("/v1/procedures?line_item=R1"),
    "reading by id": lambda client: client.get(f"/v1/procedures/{NOBODYS}"),
    "reading what was learned": lambda client: client.get("/v1/estimates"),
    "reporting": posting(f"/v1/procedures/{NOBODYS}/actuals", actuals=[]),
    "identifying": posting("/v1/identifications", marking=">PP<"),
    "giving out links": posting(f"/v1/procedures/{NOBODYS}/links", opens="procedure", holds_min=60),
    "sending tests to an address": posting("/v1/webhooks/none/test"),
    "sending it all again": posting("/v1/webhooks/none/replay"),
}


@pytest.mark.parametrize("flow", FLOWS)
def test_every_flow_ends_where_the_quota_of_the_shop_does(limited: Flask, flow: str) -> None:
    client, ask = caller(limited, NORTH), FLOWS[flow]
    assert [ask(client).status_code for _ in range(QUOTA)].count(429) == 0
    told(ask(client), 429, "rate-limited")
    told(FLOWS["issuing"](client), 429, "rate-limited")


def test_no_disguise_brings_another_quota(limited: Flask) -> None:
    """Neither another key of the shop, nor what a header says of the address."""
    for number in range(QUOTA):
        client = caller(limited, NORTH, LINE_ITEMS)
        headers = {"X-Forwarded-For": f"192.0.2.{number}", "Forwarded": f"for=192.0.2.{number}"}
        environ = {"REMOTE_ADDR": f"192.0.2.{number}"}
        answered = client.get("/v1/stages", headers=headers, environ_overrides=environ)
        assert answered.status_code == 200
    told(caller(limited, NORTH).get("/v1/stages"), 429, "rate-limited")
    assert caller(limited, SOUTH).get("/v1/stages").status_code == 200


def test_many_in_one_request_are_no_way_around(limited: Flask) -> None:
    batch = {"line_items": [line_item(f"R{number}") for number in range(QUOTA)]}
    client = caller(limited, NORTH)
    assert client.post("/v1/procedures/batch?dry_run=true", json=batch).status_code == 200
    told(client.get("/v1/stages"), 429, "rate-limited")


def test_the_same_line_item_again_and_again_is_one_procedure(keyed: Flask) -> None:
    north = caller(keyed, NORTH)
    assert len({issue(north)["id"] for _ in range(20)}) == 1
    batch = {"line_items": [line_item()] * 20}
    assert north.post("/v1/procedures/batch", json=batch).status_code == 200
    with store_of(keyed)._engine.connect() as connection:
        counts = [
            connection.scalar(select(func.count()).select_from(each)) for each in (procedures, line_items)
        ]
    assert counts == [1, 1]


# Harvesting what another shop has learned.


def test_what_a_shop_has_learned_shows_in_nothing_that_another_asks_for(keyed: Flask) -> None:
    north, south = caller(keyed, NORTH), caller(keyed, SOUTH)
    before = everything_told(north)
    report(south, *[1.6] * 6)
    assert everything_told(south) != before
    assert everything_told(north) == before


def everything_told(client: FlaskClient) -> list[Any]:
    batch = {"line_items": [line_item("B1")]}
    return [
        issue(client, reference="A1"),
        client.post("/v1/procedures?dry_run=true", json=line_item("A2")).json,
        client.post("/v1/procedures/batch", json=batch).json,
        client.get("/v1/estimates").json,
        client.get(f"/v1/estimates/{STAGE}").json,
    ]


# Poisoning what is learned with false reports.


def report(client: FlaskClient, *factors: float, prefix: str = "R") -> list[Json]:
    """Reports of so many times the catalogue's median, each on a job of its own; what became of each."""
    taken = []
    for number, factor in enumerate(factors):
        procedure = issue(client, reference=f"{prefix}{number}")
        stage = next(each for each in procedure["stages"] if each["stage"] == STAGE)
        minutes = round(factor * stage["catalogue"]["median_min"], 3)
        body = {"actuals": [{"stage": STAGE, "work_min": minutes}]}
        answered = client.post(f"/v1/procedures/{procedure['id']}/actuals", json=body).json or {}
        taken += answered["items"]
    return taken


def learned(client: FlaskClient) -> Json:
    found: Json = client.get(f"/v1/estimates/{STAGE}").json or {}
    return found


HONEST = (0.9, 1.0, 1.1) * 4


@pytest.mark.parametrize("false", [19.0, 8.0, 0.06, 1e-3, 1e4])
def test_a_few_wild_reports_among_good_ones_move_nothing(keyed: Flask, false: float) -> None:
    north = caller(keyed, NORTH)
    report(north, *HONEST)
    before = learned(north)
    assert {each["state"] for each in report(north, *[false] * 3, prefix="false")} == {"set_aside"}
    assert learned(north) == before | {"set_aside": 3}


@pytest.mark.parametrize("false", [2.9, 0.35])
def test_a_few_likely_reports_move_no_more_than_their_share(keyed: Flask, false: float) -> None:
    """What could be true counts; a quarter of the reports then has a quarter of the say."""
    north = caller(keyed, NORTH)
    report(north, *HONEST, *[false] * 4)
    found = learned(north)
    share = false ** (4 / (len(HONEST) + 4))
    assert found["jobs"] == len(HONEST) + 4
    assert min(1, share) - 0.02 < found["factor"] < max(1, share) + 0.02


def test_one_job_has_one_say_however_often_it_is_reported(keyed: Flask) -> None:
    north = caller(keyed, NORTH)
    procedure = issue(north)
    for number in range(20):
        body = {"actuals": [{"stage": STAGE, "work_min": 5 + number / 10}]}
        assert north.post(f"/v1/procedures/{procedure['id']}/actuals", json=body).status_code == 200
    assert (learned(north)["jobs"], learned(north)["set_aside"]) == (1, 0)


@pytest.mark.parametrize("false", [19.9, 0.0505])
def test_even_where_all_reports_are_false_they_do_not_build_on_each_other(keyed: Flask, false: float) -> None:
    """Every report is held against the catalogue, never against what was learned so far."""
    north = caller(keyed, NORTH)
    report(north, *[false] * 15)
    assert 1 / MOST_TIMES < learned(north)["factor"] < MOST_TIMES
    (beyond,) = report(north, false**2, prefix="beyond")
    assert (beyond["state"], beyond["reason"]) == ("set_aside", "another_unit")


def test_an_admin_finds_stops_and_undoes_false_reports(keyed: Flask) -> None:
    desk, admin = caller(keyed, NORTH, LINE_ITEMS), caller(keyed, NORTH)
    told(desk.put(f"/v1/estimates/{STAGE}", json={"frozen": True}), 403, "scope-missing")
    before = issue(admin, reference="before")
    report(desk, *[2.9] * 8)
    assert admin.put(f"/v1/estimates/{STAGE}", json={"frozen": True}).status_code == 200
    held = learned(admin)["factor"]
    report(desk, *[0.4] * 8, prefix="more")
    assert learned(admin)["factor"] == held > 2
    assert admin.get("/v1/actuals").text.count('"work_min"') == 16
    assert admin.post(f"/v1/estimates/{STAGE}/reset").status_code == 200
    assert admin.put(f"/v1/estimates/{STAGE}", json={"frozen": False}).status_code == 200
    assert learned(admin)["factor"] == 1
    assert issue(admin, reference="before") == before


# Switching the rules to and fro.


def test_of_many_who_switch_at_once_one_does(keyed: Flask) -> None:
    local = caller(keyed, LOCAL, RULES)
    packs = [keep(keyed, version(number)) for number in range(3, 8)]
    seen = {"If-Match": etag(local)}
    answers = [
        local.put("/v1/packs/active", json={"digest": pack.digest}, headers=seen).status_code
        for pack in packs
    ]
    assert answers == [200, 412, 412, 412, 412]
    told(local.put("/v1/packs/active", json={"digest": packs[1].digest}), 428, "precondition-required")
    told(activate(local, keep(keyed, version(9), proven=False).digest), 409, "pack-not-proven")


def test_every_switch_is_in_the_audit_and_every_answer_is_of_one_pack(keyed: Flask) -> None:
    local, north = caller(keyed, LOCAL), caller(keyed, NORTH)
    three, four = (keep(keyed, version(number)) for number in (3, 4))
    before = store_of(keyed).audit.verify()
    for number in range(10):
        pack, expected = ((three, [3]), (four, [4]))[number % 2]
        assert activate(local, pack.digest).status_code == 200
        procedure = issue(north, reference=f"R{number}")
        assert (procedure["pack"]["digest"], coats(procedure)) == (pack.digest, expected)
    after = store_of(keyed).audit.verify(before.head)
    assert (after.faults, after.entries - before.entries) == ((), 10)


def test_switching_ends_with_the_quota_too(limited: Flask) -> None:
    local, anything = caller(limited, LOCAL), {"If-Match": "*"}
    answers = [local.post("/v1/packs/active/rollback", headers=anything) for _ in range(QUOTA)]
    assert {answer.status_code for answer in answers} == {409}
    told(local.post("/v1/packs/active/rollback", headers=anything), 429, "rate-limited")


# Trying references and ids one after another.


@pytest.mark.parametrize(
    "guess", ["", "RO", "RO-204", "RO-20417-", "RO-20417-%", "RO-20417-_", "ro-20417-3", "*"]
)
def test_a_reference_is_found_whole_or_not_at_all(keyed: Flask, guess: str) -> None:
    north = caller(keyed, NORTH)
    issue(north, reference="RO-20417-3")
    found = north.get("/v1/procedures", query_string={"line_item": guess})
    assert found.status_code == 422 or found.json == {"items": []}
    told(north.get("/v1/procedures"), 422, "query-refused")


def test_a_guess_is_answered_alike_whether_others_have_the_reference_or_nobody(keyed: Flask) -> None:
    north, south = caller(keyed, NORTH), caller(keyed, SOUTH)
    issue(south, reference="RO-20417-3")
    theirs, nobodys = (north.get(f"/v1/procedures?line_item=RO-20417-{number}") for number in (3, 4))
    assert (theirs.status_code, theirs.json) == (nobodys.status_code, nobodys.json) == (200, {"items": []})


def test_one_id_tells_nothing_of_the_next(keyed: Flask) -> None:
    """An id is 128 bits of a digest of all that was said: neither a number nor a time is in it."""
    north = caller(keyed, NORTH)
    ids = [issue(north, reference=f"R{number}")["id"] for number in range(16)]
    assert {len(each) for each in ids} == {len("pr-") + 32}
    assert ids != sorted(ids)
    assert len({each[3:7] for each in ids}) > 10
