"""Opening hours as a line item states them."""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Any

import pytest
from marshmallow import ValidationError

from planning.timing.calendar import Calendar, Hours
from schemas.examples import FULL
from schemas.faults import faults_of_body
from schemas.line_item.body import ProcedureRequest
from schemas.line_item.terms import terms_of

MORNING = {"days": ["monday", "sunday"], "from": "07:30", "until": "12:00"}


def with_calendar(**changed: Any) -> dict[str, Any]:
    body = deepcopy(FULL)
    body["calendar"] = {"time_zone": "Europe/Berlin", "hours": [MORNING], **changed}
    return body


def refused(body: dict[str, Any]) -> dict[str, str]:
    schema = ProcedureRequest()
    with pytest.raises(ValidationError) as caught:
        schema.load(body)
    return {fault.place: fault.detail for fault in faults_of_body(caught.value, schema)}


def test_a_calendar_is_read_as_written() -> None:
    evening = {"days": ["friday"], "from": "18:00", "until": "24:00"}
    body = with_calendar(hours=[MORNING, evening], closed=["2027-12-24"])
    assert terms_of(ProcedureRequest().load(body)).calendar == Calendar(
        "Europe/Berlin",
        (Hours(frozenset({0, 6}), 450, 720), Hours(frozenset({4}), 1080, 1440)),
        frozenset({date(2027, 12, 24)}),
    )
    assert terms_of(ProcedureRequest().load({**body, "calendar": None})).calendar is None


@pytest.mark.parametrize(
    ("changed", "place", "told"),
    [
        ({"time_zone": "Europe/Berln"}, "/calendar/time_zone", "did you mean 'Europe/Berlin'?"),
        ({"time_zone": "../../etc/passwd"}, "/calendar/time_zone", "is not an IANA time zone"),
        ({"time_zone": None}, "/calendar/time_zone", "must not be null"),
        ({"hours": []}, "/calendar/hours", "must have 1 to 50 elements"),
        (
            {"hours": [{**MORNING, "days": ["mon"]}]},
            "/calendar/hours/0/days/0",
            "must be one of monday, tuesday",
        ),
        ({"hours": [{**MORNING, "days": []}]}, "/calendar/hours/0/days", "must have 1 to 7 elements"),
        ({"hours": [{**MORNING, "from": "7:30"}]}, "/calendar/hours/0/from", "must be a time of the day"),
        ({"hours": [{**MORNING, "from": "24:00"}]}, "/calendar/hours/0/from", "must be a time of the day"),
        ({"hours": [{**MORNING, "until": "07:30"}]}, "/calendar/hours/0/until", "must be later than 'from'"),
        ({"hours": [{"days": ["monday"], "until": "12:00"}]}, "/calendar/hours/0/from", "is missing"),
        ({"closed": ["2027-02-30"]}, "/calendar/closed/0", "must be a date such as 2027-12-24"),
        ({"closed": ["20271224"]}, "/calendar/closed/0", "must be a date such as 2027-12-24"),
        ({"closed": [20271224]}, "/calendar/closed/0", "must be a date such as 2027-12-24"),
        ({"opened": []}, "/calendar/opened", "is not a member here"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_place(changed: dict[str, Any], place: str, told: str) -> None:
    assert told in refused(with_calendar(**changed))[place]


def test_a_calendar_without_a_start_is_refused() -> None:
    body = with_calendar()
    del body["start_at"]
    assert refused(body) == {"/start_at": "is missing: where a calendar is given, so must be the start"}
