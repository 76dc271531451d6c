"""Opening hours over HTTP."""

from __future__ import annotations

from copy import deepcopy
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from flask.testing import FlaskClient

from schemas.examples import FULL

WEEK = ["monday", "tuesday", "wednesday", "thursday", "friday"]


def body(*hours: tuple[str, str], start_at: str = "2027-03-02T16:05:00-06:00") -> dict[str, Any]:
    spans = [{"days": WEEK, "from": opens, "until": closes} for opens, closes in hours]
    calendar = {"time_zone": "America/Chicago", "hours": spans}
    return {**deepcopy(FULL), "start_at": start_at, "calendar": calendar}


def test_no_work_is_begun_or_done_behind_a_closed_door(client: FlaskClient) -> None:
    response = client.post("/v1/procedures", json=body(("07:30", "12:00"), ("12:30", "17:00")))
    assert response.status_code == 201, response.text
    assert response.json is not None
    timeline, totals = response.json["timeline"], response.json["totals"]
    assert timeline["time_zone"] == "America/Chicago"
    assert timeline["closed"]
    assert timeline["put_off"]
    for stage in timeline["stages"]:
        for closed in timeline["closed"]:
            inside = closed["from_min"] < stage["earliest_start_min"] < closed["until_min"]
            assert not inside, (stage, closed)
    zone = ZoneInfo("America/Chicago")
    for stage in timeline["stages"]:
        at = datetime.fromisoformat(stage["earliest_start_at"])
        assert at.utcoffset() == at.astimezone(zone).utcoffset()
        assert at.weekday() < 5
        assert stage["latest_start_at"] >= stage["earliest_start_at"]
    finish = totals["finish_at"]
    assert finish["p50"] <= finish["p80"] <= finish["p95"]
    assert totals["work_at_median_min"] == sum(stage["work_min"]["p50"] for stage in response.json["stages"])


def test_windows_are_told_in_a_sentence_and_with_their_probability(client: FlaskClient) -> None:
    for given in (FULL, {**FULL, "start_at": None, "calendar": None}):
        document = client.post("/v1/procedures", json=given).json
        assert document is not None
        windows = [stage["window"] for stage in document["stages"] if stage["window"]]
        assert windows
        for window in windows:
            assert 0 <= window["kept_probability"] <= 1
            assert window["sentence"].startswith("Start ")
            assert (window["if_missed"] is None) or ", or go back to " in window["sentence"]


def test_opening_hours_that_are_too_short_are_a_problem_that_names_the_stage(client: FlaskClient) -> None:
    response = client.post("/v1/procedures", json=body(("07:30", "07:35")))
    assert (response.status_code, response.json and response.json["type"]) == (
        422,
        "/problems/calendar-too-narrow",
    )
    assert response.json is not None
    (error,) = response.json["errors"]
    assert error["pointer"] == "/calendar"
    assert "min of work, but in the next 60 days" in error["detail"]


def test_the_drawing_shows_when_the_door_is_closed(client: FlaskClient) -> None:
    document = client.post("/v1/procedures", json=body(("07:30", "12:00"), ("12:30", "17:00"))).json
    assert document is not None
    drawing = client.get(document["links"]["timeline"], headers={"Accept": "image/svg+xml"}).text
    assert 'class="closed"' in drawing
