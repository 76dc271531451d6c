"""When the shop is open, as a line item says it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from typing import Any
from zoneinfo import available_timezones

from marshmallow import ValidationError, fields, validate, validates_schema

from planning.timing.calendar import DAYS, Calendar, Hours
from schemas.fields import Section, Text, Texts, about, length
from schemas.refusing import Refusing

_TIME = r"([01][0-9]|2[0-3]):[0-5][0-9]"


class Day(fields.Field[date]):
    """A date of the calendar, such as 2027-12-24."""

    default_error_messages = {  # noqa: RUF012
        "null": "must not be null",
        "invalid": "must be a date such as 2027-12-24",
    }

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.metadata = {**self.metadata, "type": "string", "format": "date"}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> date:
        try:
            found = date.fromisoformat(value)
        except (TypeError, ValueError) as error:
            raise self.make_error("invalid") from error
        if found.isoformat() != value:
            raise self.make_error("invalid")
        return found


class HoursGiven(Refusing):
    class Meta:
        # `from` is a word of Python's own.
        include = {  # noqa: RUF012
            "from": Text(
                required=True,
                pattern=_TIME,
                form="a time of the day such as 07:30",
                metadata=about("When the door opens, by the clock on the wall.", examples=["07:30"]),
            )
        }

    days = Texts(
        of=Text(validate=validate.OneOf(DAYS, error="must be one of {choices}")),
        required=True,
        validate=validate.Length(1, 7, error="must have {min} to {max} elements"),
        metadata=about("The days of the week.", examples=[["monday", "tuesday"]]),
    )
    until = Text(
        required=True,
        pattern=f"({_TIME}|24:00)",
        form="a time of the day such as 12:00, or 24:00",
        metadata=about("When it closes, on the same day.", examples=["12:00"]),
    )

    @validates_schema
    def _forward(self, data: Mapping[str, Any], **options: Any) -> None:
        if _minute(data["from"]) >= _minute(data["until"]):
            raise ValidationError("must be later than 'from'; hours past midnight are two entries", "until")


class CalendarGiven(Refusing):
    time_zone = Text(
        required=True,
        validate=length(1, 60),
        metadata=about(
            "The IANA time zone of the shop; the hours are read by it, also where the clock is put forward or"
            " back.",
            examples=["America/Chicago"],
        ),
    )
    hours = fields.List(
        Section(HoursGiven),
        required=True,
        validate=validate.Length(1, 50, error="must have {min} to {max} elements"),
        error_messages={"required": "is missing", "null": "must not be null", "invalid": "must be a list"},
        metadata=about("When the shop is open. A break is the gap between two entries of one day."),
    )
    closed = fields.List(
        Day(),
        allow_none=True,
        validate=validate.Length(0, 400, error="must have at most {max} elements"),
        error_messages={"invalid": "must be a list of dates"},
        metadata=about("Days on which it is closed all the same, such as holidays."),
    )

    @validates_schema
    def _known_zone(self, data: Mapping[str, Any], **options: Any) -> None:
        zone = data["time_zone"]
        if zone not in _zones():
            meant = get_close_matches(zone, _zones(), n=1)
            hint = f"; did you mean '{meant[0]}'?" if meant else ", such as America/Chicago"
            raise ValidationError(f"is not an IANA time zone{hint}", "time_zone")


def calendar_of(given: Mapping[str, Any] | None) -> Calendar | None:
    """The calendar of a loaded line item; None where it has none."""
    if given is None:
        return None
    return Calendar(
        time_zone=given["time_zone"],
        hours=tuple(
            Hours(
                frozenset(DAYS.index(day) for day in hours["days"]),
                _minute(hours["from"]),
                _minute(hours["until"]),
            )
            for hours in given["hours"]
        ),
        closed=frozenset(given.get("closed") or ()),
    )


def _minute(shown: str) -> int:
    hour, _, minute = shown.partition(":")
    return 60 * int(hour) + int(minute)


@lru_cache(maxsize=1)
def _zones() -> tuple[str, ...]:
    return tuple(sorted(available_timezones()))
