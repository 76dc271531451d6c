"""Strict fields: no value is converted between JSON types, and each fault says what is accepted."""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields, validate

DECIMAL = r"(0|[1-9][0-9]{0,8})(\.[0-9]{1,4})?"
DATE_TIME = r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?"
# Narrower, for whoever writes one; the days of each month and `date-time` do the rest.
MOMENT = (
    r"2[01][0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
    r"T([01][0-9]|2[0-3])(:[0-5][0-9]){2}(\.[0-9]{1,6})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9])"
)
# A line break is a character like any other here, in Python as in ECMA-262. Half of a surrogate pair is no
# character to most dialects, so no pattern can leave it out.
ANY_TEXT = r"[^\u0000]*"
OFFSET = r"(Z|[+-][0-9]{2}:[0-9]{2})"
YEARS = range(2000, 2200)

Messages = dict[str, str | list[Any] | dict[Any, Any]]


def _messages(**own: str) -> Messages:
    return {"required": "is missing", "null": "must not be null", **own}


class Text(fields.String):
    """Text. With `pattern`, the whole of it must match; `form` says so in words."""

    default_error_messages = _messages(invalid="must be text", pattern="must be {form}")

    def __init__(
        self, *, pattern: str = ANY_TEXT, form: str = "text without the character NUL", **options: Any
    ) -> None:
        super().__init__(**options)
        self._pattern, self._form = pattern, form
        self.metadata = {**self.metadata, "pattern": f"^{pattern}$"}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> str:
        text = super()._deserialize(value, attr, data, **options)
        if not re.fullmatch(self._pattern, text):
            raise self.make_error("pattern", form=self._form)
        return text


class DecimalStr(fields.Field[Decimal]):
    """A decimal number written as text, such as `"62.00"`."""

    default_error_messages = _messages(
        invalid='must be a decimal number in quotes, such as "62.00", with up to 9 digits and up to 4'
        " decimals, without sign or exponent"
    )

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.metadata = {**self.metadata, "type": "string", "pattern": f"^{DECIMAL}$"}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> Decimal:
        if not (isinstance(value, str) and re.fullmatch(DECIMAL, value)):
            raise self.make_error("invalid")
        return Decimal(value)


class Moment(fields.Field[datetime]):
    """An RFC 3339 date and time with its offset."""

    default_error_messages = _messages(
        invalid="must be a date and time with offset, such as 2027-03-02T08:15:00-06:00",
        date="is not a date and time of the calendar",
        range="must be from the year 2000 to the year 2199",
    )

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        form = {"type": "string", "format": "date-time", "pattern": f"^{MOMENT}$"}
        self.metadata = {**self.metadata, **form}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> datetime:
        if not (isinstance(value, str) and re.fullmatch(DATE_TIME + OFFSET, value)):
            raise self.make_error("invalid")
        try:
            moment = datetime.fromisoformat(value)
        except ValueError as error:
            raise self.make_error("date") from error
        if moment.year not in YEARS:
            raise self.make_error("range")
        return moment


class Number(fields.Float):
    """A JSON number; never text and never a truth value."""

    default_error_messages = _messages(invalid="must be a number")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.make_error("invalid")
        return float(value)


class WholeNumber(fields.Integer):
    """A JSON number without a fraction; never text and never a truth value."""

    default_error_messages = _messages(invalid="must be a whole number")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> int:
        whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        if isinstance(value, bool) or not whole:
            raise self.make_error("invalid")
        return int(value)


class Digits(fields.Integer):
    """A whole number as a query parameter spells it: ASCII digits only."""

    default_error_messages = _messages(invalid="must be a whole number in digits")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> int:
        if not re.fullmatch(r"[0-9]{1,9}", value):
            raise self.make_error("invalid")
        return int(value)


class Truth(fields.Boolean):
    """`true` or `false`; nothing else stands for them."""

    default_error_messages = _messages(invalid="must be true or false")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid")
        return value


class Flag(fields.Boolean):
    """A truth value as a query parameter spells it: `true` or `false`."""

    default_error_messages = _messages(invalid="must be true or false")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> bool:
        if value not in ("true", "false"):
            raise self.make_error("invalid")
        return bool(value == "true")


class Texts(fields.List[str]):
    """A JSON array of texts."""

    default_error_messages = _messages(invalid="must be a list of texts")

    def __init__(self, *, of: Text, **options: Any) -> None:
        super().__init__(of, **options)


class ByName(fields.Dict):
    """An object whose member names are data, such as labour categories, and whose values are of one kind."""

    default_error_messages = _messages(invalid="must be an object")

    def __init__(self, values: fields.Field[Any], **options: Any) -> None:
        super().__init__(keys=Text(validate=length(1, 64)), values=values, **options)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **options)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            raise by_member(error) from error


class Prices(ByName):
    """An object of decimal strings."""

    default_error_messages = _messages(invalid="must be an object of decimal numbers in quotes")

    def __init__(self, **options: Any) -> None:
        super().__init__(DecimalStr(), **options)


class Section(fields.Nested):
    """An object inside a body."""

    default_error_messages = _messages(type="must be an object")


def line(at_most: int, **options: Any) -> Text:
    """One line of text that is not blank."""
    pattern = r"[^\x00-\x1f\x7f]*[^\x00-\x20\x7f][^\x00-\x1f\x7f]*"
    return Text(pattern=pattern, form="one line of text, not blank", validate=length(1, at_most), **options)


def length(at_least: int, at_most: int) -> validate.Length:
    """Bounds on the number of characters."""
    return validate.Length(at_least, at_most, error="must have {min} to {max} characters")


def size(at_most: int) -> validate.Length:
    """A bound on the number of members or elements."""
    return validate.Length(max=at_most, error="must have at most {max} elements")


def between(at_least: float, at_most: float) -> validate.Range:
    """Bounds on a number, both included."""
    return validate.Range(at_least, at_most, error="must be between {min} and {max}")


def about(text: str, **published: Any) -> dict[str, Any]:
    """What the OpenAPI document says of a field."""
    return {"description": text, **published}


def by_member(error: ValidationError) -> ValidationError:
    """A dictionary field tells faults of names from faults of values; to people they are one place."""
    if not isinstance(error.messages, dict):
        return error
    return ValidationError({name: _of_member(faults) for name, faults in error.messages.items()})


def _of_member(faults: dict[str, Any]) -> Any:
    """Those of a value that is an object stand by its members, unless the name is at fault too."""
    named, valued = faults.get("key", []), faults.get("value", [])
    return [*named, *valued] if isinstance(valued, list) else named or valued
