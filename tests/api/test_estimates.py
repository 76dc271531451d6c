from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest
import sqlalchemy
from actuals_at_hand import issued, stage_of, taken
from checked_client import Json, snapshot
from flask import Flask
from flask.testing import FlaskClient


@pytest.fixture
def stage(client: FlaskClient) -> str:
    """A stage of the example line item whose estimate begins anew."""
    found: str = issued(client)["stages"][1]["stage"]
    assert client.put(f"/v1/estimates/{found}", json={"frozen": False}).status_code == 200
    assert client.post(f"/v1/estimates/{found}/reset").status_code == 200
    return found


def report(client: FlaskClient, stage: str, times: float, **more: Any) -> Json:
    """A report of so many times what the catalogue predicts, on a new procedure."""
    procedure = issued(client)
    minutes = round(times * stage_of(procedure, stage)["catalogue"]["median_min"], 3)
    return taken(client, procedure, {"stage": stage, "work_min": minutes, **more})[0]


def estimate(client: FlaskClient, stage: str) -> Json:
    response = client.get(f"/v1/estimates/{stage}")
    assert response.status_code == 200
    assert response.json is not None
    found: Json = response.json
    return found


def test_without_a_job_the_catalogue_holds(client: FlaskClient, stage: str) -> None:
    found = estimate(client, stage)
    assert (found["jobs"], found["set_aside"], found["factor"], found["frozen"]) == (0, 0, 1, False)
    planned = stage_of(issued(client), stage)
    for level, factor in found["quantile_factors"].items():
        expected = factor * planned["catalogue"]["median_min"]
        assert planned["work_min"][level] == pytest.approx(expected, rel=0.001, abs=0.2)


def test_an_estimate_is_what_procedures_are_issued_by(client: FlaskClient, stage: str) -> None:
    for times in (1.2, 1.4, 1.5, 25.0):
        report(client, stage, times)
    found = estimate(client, stage)
    assert (found["jobs"], found["set_aside"]) == (3, 1)
    planned = stage_of(issued(client), stage)
    assert planned["jobs"] == 3
    for level, factor in found["quantile_factors"].items():
        expected = factor * planned["catalogue"]["median_min"]
        assert planned["work_min"][level] == pytest.approx(expected, rel=0.001, abs=0.2)
    listed = client.get("/v1/estimates").json
    assert listed is not None
    assert listed["pack"] == found.pop("pack")
    assert found in listed["items"]


def test_for_one_estimate_the_reports_on_other_stages_are_not_read(
    app: Flask, client: FlaskClient, stage: str
) -> None:
    """And its own sums are read once: what comes meanwhile is in all of its figures or in none."""
    read: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, values: Any, *_: Any) -> None:
        read.append((statement, values))

    engine = snapshot(app).store._engine
    sqlalchemy.event.listen(engine, "before_cursor_execute", note)
    estimate(client, stage)
    sqlalchemy.event.remove(engine, "before_cursor_execute", note)
    assert sum("FROM estimates" in statement for statement, _ in read) == 1
    assert [stage in values for statement, values in read if "FROM actuals" in statement] == [True]


def test_while_it_is_frozen_reports_are_kept_and_nothing_moves(client: FlaskClient, stage: str) -> None:
    report(client, stage, 1.3)
    response = client.put(f"/v1/estimates/{stage}", json={"frozen": True})
    held = response.json
    assert held is not None
    assert (held["frozen"], held["frozen_at"] is None) == (True, False)
    assert report(client, stage, 1.6)["state"] == "while_frozen"
    assert estimate(client, stage) == held
    assert client.put(f"/v1/estimates/{stage}", json={"frozen": True}).json == held
    moved = client.put(f"/v1/estimates/{stage}", json={"frozen": False}).json
    assert moved is not None
    assert (moved["frozen"], moved["frozen_at"], moved["jobs"]) == (False, None, 2)


def test_a_reset_begins_anew(client: FlaskClient, stage: str) -> None:
    procedure = issued(client)
    taken(client, procedure, {"stage": stage, "work_min": 9})
    found = client.post(f"/v1/estimates/{stage}/reset").json
    assert found is not None
    assert (found["jobs"], found["factor"], found["reset_at"] is None) == (0, 1, False)
    (kept,) = (client.get(f"/v1/procedures/{procedure['id']}/actuals").json or {})["items"]
    assert kept["state"] == "before_reset"


def test_every_decision_is_in_the_audit(app: Flask, client: FlaskClient, stage: str) -> None:
    before = snapshot(app).store.audit.verify()
    client.put(f"/v1/estimates/{stage}", json={"frozen": True})
    client.put(f"/v1/estimates/{stage}", json={"frozen": False})
    client.post(f"/v1/estimates/{stage}/reset")
    after = snapshot(app).store.audit.verify(before.head)
    assert (after.faults, after.entries - before.entries) == ((), 3)


def test_a_stage_that_the_catalogue_lacks_is_told(client: FlaskClient) -> None:
    for response in (
        client.get("/v1/estimates/polish"),
        client.put("/v1/estimates/polish", json={"frozen": True}),
        client.post("/v1/estimates/polish/reset"),
    ):
        assert response.status_code == 404
        assert response.json is not None
        assert response.json["type"] == "/problems/stage-unknown"


@pytest.mark.parametrize("body", [{}, {"frozen": 1}, {"frozen": None}, {"frozen": True, "until": "then"}])
def test_only_true_and_false_freeze(client: FlaskClient, stage: str, body: Json) -> None:
    assert client.put(f"/v1/estimates/{stage}", json=body).status_code == 422
    assert estimate(client, stage)["frozen"] is False


def test_every_report_is_exported_in_either_form(client: FlaskClient, stage: str) -> None:
    report(client, stage, 1.1, remark="=1+1", check={"result": "passed", "note": 'flat, "even"'})
    report(client, stage, 60.0)
    lines = client.get("/v1/actuals")
    assert lines.mimetype == "application/jsonl"
    objects = [json.loads(line) for line in lines.text.splitlines()]
    table = client.get("/v1/actuals", headers={"Accept": "text/csv"})
    assert table.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert len(rows) == len(objects)
    assert list(rows[0]) == list(objects[0])
    for row, written in zip(rows[-2:], objects[-2:], strict=True):
        plain = {name: "" if value is None else str(value) for name, value in written.items()}
        assert row == plain | {"remark": row["remark"]}
    assert (objects[-2]["remark"], rows[-2]["remark"]) == ("=1+1", "'=1+1")
    assert [each["state"] for each in objects[-2:]] == ["counted", "set_aside"]


@pytest.mark.parametrize(("accept", "status"), [("text/html", 406), ("*/*", 200), ("text/*", 200)])
def test_an_export_comes_in_a_form_that_is_accepted(client: FlaskClient, accept: str, status: int) -> None:
    assert client.get("/v1/actuals", headers={"Accept": accept}).status_code == status
