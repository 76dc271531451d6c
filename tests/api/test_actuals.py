from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest
from actuals_at_hand import issued, post, stage_of, taken
from checked_client import Json, snapshot
from flask import Flask
from flask.testing import FlaskClient

from planning.learning.model import Reason
from schemas.actuals import ACTUALS, predicted
from schemas.actuals_answer import STATES, TOLD
from storage.actual_records import State
from storage.records import StatedFacts
from storage.shops import LOCAL

STAGE = "solvent-clean"


@pytest.fixture
def fresh(client: FlaskClient) -> FlaskClient:
    """All tests share one shop: its estimate of the stage begins anew."""
    assert client.put(f"/v1/estimates/{STAGE}", json={"frozen": False}).status_code == 200
    assert client.post(f"/v1/estimates/{STAGE}/reset").status_code == 200
    return client


def test_what_is_reported_moves_later_procedures_and_not_this_one(fresh: FlaskClient) -> None:
    procedure = issued(fresh)
    before = stage_of(procedure)
    assert before["jobs"] == 0
    for _ in range(8):
        other = issued(fresh)
        minutes = 1.5 * stage_of(other)["catalogue"]["median_min"]
        assert taken(fresh, other, {"stage": STAGE, "work_min": minutes})[0]["state"] == "counted"
    after = stage_of(issued(fresh))
    assert after["jobs"] == 8
    assert after["catalogue"] == before["catalogue"]
    assert 1.3 < after["work_min"]["p50"] / before["work_min"]["p50"] < 1.5
    assert fresh.get(procedure["links"]["self"]).json == procedure


def test_the_same_line_item_gets_a_new_procedure_once_something_was_learned(fresh: FlaskClient) -> None:
    reference = f"RO-{uuid4().hex[:12]}"
    first = issued(fresh, reference)
    assert issued(fresh, reference)["id"] == first["id"]
    taken(fresh, first, {"stage": STAGE, "work_min": 2 * stage_of(first)["work_min"]["p50"]})
    assert issued(fresh, reference)["id"] != first["id"]


def test_what_was_reported_is_read_back(fresh: FlaskClient) -> None:
    procedure = issued(fresh)
    entry = {
        "stage": STAGE,
        "started_at": "2027-03-02T08:15:00-06:00",
        "ended_at": "2027-03-02T08:24:30-06:00",
        "check": {"result": "failed", "note": "water breaks"},
        "remark": "done twice",
    }
    sent = taken(fresh, procedure, entry)
    assert sent[0].pop("repeated") is False
    response = fresh.get(f"/v1/procedures/{procedure['id']}/actuals")
    assert response.json == {"procedure": procedure["id"], "items": sent}
    assert sent[0].items() >= (entry | {"work_min": 9.5, "state": "counted", "reason": None}).items()
    assert sent[0]["catalogue_min"] == stage_of(procedure)["catalogue"]["median_min"]
    etag = response.headers["ETag"]
    again = fresh.get(f"/v1/procedures/{procedure['id']}/actuals", headers={"If-None-Match": etag})
    assert again.status_code == 304


def test_each_entry_is_counted_or_set_aside_with_its_reason(fresh: FlaskClient) -> None:
    procedure = issued(fresh)
    first, second, third, fourth = (stage["stage"] for stage in procedure["stages"][:4])
    times = {"started_at": "2027-03-02T16:50:00-06:00", "ended_at": "2027-03-03T07:30:00-06:00"}
    found = taken(
        fresh,
        procedure,
        {"stage": first, "work_min": -5},
        {"stage": second, **times},
        {"stage": third, "started_at": times["ended_at"], "ended_at": times["started_at"]},
        {"stage": fourth, "work_min": 60 * stage_of(procedure, fourth)["work_min"]["p50"]},
    )
    assert [each["reason"] for each in found] == [
        "no_time",
        "across_a_night",
        "ends_before_start",
        "another_unit",
    ]
    assert {each["state"] for each in found} == {"set_aside"}
    assert all(each["told"].endswith(".") for each in found)


def test_the_same_twice_is_told_and_a_correction_replaces(fresh: FlaskClient) -> None:
    procedure = issued(fresh)
    wrong, right = {"stage": STAGE, "work_min": 7}, {"stage": STAGE, "work_min": 8}
    assert [taken(fresh, procedure, wrong)[0]["repeated"] for _ in range(2)] == [False, True]
    assert taken(fresh, procedure, right)[0]["state"] == "counted"
    listed = fresh.get(f"/v1/procedures/{procedure['id']}/actuals").json
    assert [each["state"] for each in (listed or {})["items"]] == ["replaced", "counted"]
    assert (fresh.get(f"/v1/estimates/{STAGE}").json or {})["jobs"] == 1


@pytest.mark.parametrize(
    ("entry", "place", "says"),
    [
        ({"stage": "polish-the-chrome", "work_min": 5}, "/actuals/0/stage", "is no stage of this procedure"),
        ({"stage": STAGE}, "/actuals/0", "give either work_min, or both started_at and ended_at"),
        (
            {"stage": STAGE, "work_min": 5, "started_at": "2027-03-02T08:15:00-06:00"},
            "/actuals/0",
            "given: started_at and work_min",
        ),
        ({"stage": STAGE, "ended_at": "2027-03-02T08:15:00-06:00"}, "/actuals/0", "given: ended_at"),
        ({"stage": STAGE, "work_min": "5"}, "/actuals/0/work_min", "must be a number"),
        ({"stage": STAGE, "work_min": 1e9}, "/actuals/0/work_min", "must be between"),
        ({"stage": STAGE, "work_hours": 5}, "/actuals/0/work_hours", "is not a member here"),
        ({"work_min": 5}, "/actuals/0/stage", "is missing"),
        ({"stage": STAGE, "work_min": 5, "check": "passed"}, "/actuals/0/check", "must be an object"),
        (
            {"stage": STAGE, "work_min": 5, "check": {"result": "fine"}},
            "/actuals/0/check/result",
            "must be passed or failed",
        ),
        ({"stage": STAGE, "work_min": 5, "remark": "two\nlines"}, "/actuals/0/remark", "one line of text"),
        ("solvent-clean", "/actuals/0", "must be an object"),
    ],
)
def test_what_cannot_be_used_is_told_with_its_place(
    client: FlaskClient, entry: Json, place: str, says: str
) -> None:
    procedure = issued(client)
    response = post(client, procedure, entry)
    assert response.status_code == 422
    assert response.json["type"] == "/problems/body-refused"
    assert any(each["pointer"] == place and says in each["detail"] for each in response.json["errors"])
    assert (client.get(f"/v1/procedures/{procedure['id']}/actuals").json or {})["items"] == []


@pytest.mark.parametrize(
    "body", [{}, {"actuals": []}, {"actuals": {}}, {"actuals": None}, [], {"actual": []}]
)
def test_a_body_without_reports_is_refused(client: FlaskClient, body: Any) -> None:
    response = client.post(f"/v1/procedures/{issued(client)['id']}/actuals", json=body)
    assert response.status_code == 422


def test_a_near_miss_is_proposed_and_a_stage_is_named_once(client: FlaskClient) -> None:
    procedure = issued(client)
    response = post(client, procedure, {"stage": "solvent-clena", "work_min": 5})
    assert f"did you mean '{STAGE}'?" in response.text
    entry = {"stage": STAGE, "work_min": 5}
    response = post(client, procedure, entry, {**entry, "work_min": 6})
    assert response.status_code == 422
    assert response.json["errors"][0]["pointer"] == "/actuals/1/stage"


def test_one_wrong_entry_keeps_none(client: FlaskClient) -> None:
    procedure = issued(client)
    response = post(client, procedure, {"stage": STAGE, "work_min": 5}, {"stage": "none", "work_min": 5})
    assert response.status_code == 422
    assert (client.get(f"/v1/procedures/{procedure['id']}/actuals").json or {})["items"] == []


@pytest.mark.parametrize("procedure_id", ["pr-0", f"pr-{'0' * 32}"])
def test_an_unknown_procedure_is_told(client: FlaskClient, procedure_id: str) -> None:
    for response in (
        post(client, {"id": procedure_id}, {"stage": STAGE, "work_min": 5}),
        client.get(f"/v1/procedures/{procedure_id}/actuals"),
    ):
        assert response.status_code == 404
        assert response.json is not None
        assert response.json["type"] == "/problems/procedure-unknown"


def test_a_procedure_of_another_shop_is_unknown(app: Flask, client: FlaskClient) -> None:
    own, store = issued(client), snapshot(app).store
    other = store.shops.create(f"shop-{uuid4().hex[:8]}", "Another invented shop", "test").id
    kept = store.procedure(LOCAL, own["id"])
    assert kept is not None
    foreign = replace(kept, id=f"pr-{uuid4().hex}")
    store.keep_procedure(other, foreign, StatedFacts("TPO", {}))
    for response in (
        post(client, {"id": foreign.id}, {"stage": STAGE, "work_min": 5}),
        client.get(f"/v1/procedures/{foreign.id}/actuals"),
    ):
        assert response.status_code == 404
    assert store.actuals.of_procedure(other, foreign.id).items == ()


@pytest.mark.parametrize("name", ACTUALS)
def test_every_published_example_is_taken(client: FlaskClient, name: str) -> None:
    response = client.post(f"/v1/procedures/{issued(client)['id']}/actuals", json=ACTUALS[name]["value"])
    assert response.status_code == 200, response.text


def test_every_state_and_reason_is_told_in_words() -> None:
    assert list(STATES) == [state.value for state in State]
    assert TOLD.keys() == set(Reason)
    page = (Path(__file__).parents[2] / "docs" / "learning.md").read_text(encoding="utf-8")
    for word in (*STATES, *(reason.value for reason in Reason)):
        assert f"| `{word}` |" in page


def test_an_older_document_holds_the_figures_of_the_catalogue_itself() -> None:
    median_min, spread = predicted({"work_min": {"p50": 20.0, "p80": 25.7, "p95": 32.8}})
    assert (median_min, spread) == (20.0, pytest.approx(0.298, abs=0.001))
    assert predicted({"work_min": {"p50": 0, "p80": 0, "p95": 0}}) == (0, 0)


def test_reports_are_read_page_by_page(fresh: FlaskClient) -> None:
    procedure = issued(fresh)
    for minutes in range(1, 8):
        taken(fresh, procedure, {"stage": STAGE, "work_min": minutes})
    address, read = f"/v1/procedures/{procedure['id']}/actuals?limit=3", []
    while address:
        response = fresh.get(address)
        page = response.json or {}
        assert (page["procedure"], len(page["items"]) <= 3) == (procedure["id"], True)
        read += [each["work_min"] for each in page["items"]]
        address = response.headers.get("Link", "").partition(">")[0].removeprefix("<")
    assert read == [*range(1, 8)]


@pytest.mark.parametrize("query", ["limit=0", "limit=101", "cursor=x", "offset=3", "limit=1&limit=2"])
def test_a_page_that_is_none_is_refused(fresh: FlaskClient, query: str) -> None:
    response = fresh.get(f"/v1/procedures/{issued(fresh)['id']}/actuals?{query}")
    assert response.status_code == 422
    assert response.json is not None
    assert response.json["type"] == "/problems/query-refused"


def test_a_cursor_of_another_list_is_refused(fresh: FlaskClient) -> None:
    reference = f"RO-{uuid4().hex[:12]}"
    for work_min in (7, 8):
        taken(fresh, issued(fresh, reference), {"stage": STAGE, "work_min": work_min})
    link = fresh.get(f"/v1/procedures?line_item={reference}&limit=1").headers["Link"]
    cursor = parse_qs(urlsplit(link.partition(">")[0]).query)["cursor"][0]
    response = fresh.get(f"/v1/procedures/{issued(fresh)['id']}/actuals?cursor={cursor}")
    assert response.status_code == 422
