"""What is wrong with a request, place by place, as `errors[]` of a problem document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from marshmallow import Schema, ValidationError
from marshmallow.fields import Field, List, Nested
from marshmallow.validate import OneOf

from rules.intake import FactFault
from schemas.figures import plain

LONGEST_ECHO = 200
LONGEST_PLACE = 1000
"""What an unknown member is called may be as long as the body."""


@dataclass(frozen=True)
class Fault:
    """One fault: its place, what is wrong, the value read (None: none) and what is accepted instead.

    `place` is a JSON pointer into the body, or the name of a query parameter.
    """

    place: str
    detail: str
    value: object = None
    accepted: tuple[object, ...] = ()

    def as_error(self, kind: str = "pointer") -> dict[str, Any]:
        """The fault as a member of `errors`; `kind` of place is `pointer` or `parameter`."""
        error: dict[str, Any] = {kind: self.place[:LONGEST_PLACE], "detail": self.detail + self._nearest()}
        if isinstance(self.value, (str, Decimal)):
            error["value"] = str(self.value)[:LONGEST_ECHO]
        elif isinstance(self.value, (bool, int, float)):
            error["value"] = plain(self.value)
        if self.accepted:
            error["accepted"] = list(self.accepted)
        return error

    def _nearest(self) -> str:
        """Proposes the accepted word that the value, or else the name of the place, may have meant."""
        words = [word for word in self.accepted if isinstance(word, str)]
        for written in (self.value, self.place.rpartition("/")[2]):
            if isinstance(written, str):
                # A long text is no slip of the pen, and comparing it is slow.
                for match in get_close_matches(written[:60], words, n=1, cutoff=0.7):
                    return f"; did you mean '{match}'?"
        return ""


def pointer(parent: str, token: object) -> str:
    """The JSON pointer (RFC 6901) of what stands under `token` in `parent`."""
    return f"{parent}/{str(token).replace('~', '~0').replace('/', '~1')}"


def faults_of_facts(faults: tuple[FactFault, ...]) -> Iterator[Fault]:
    """The faults that the pack's vocabulary finds."""
    for fault in faults:
        yield Fault(fault.given_as or pointer("", fault.fact), fault.detail, fault.value, fault.accepted)


def faults_of_body(error: ValidationError, schema: Schema) -> Iterator[Fault]:
    """The faults that a schema finds in a JSON body, in the order of the schema."""
    return _walk(error.messages, "", error.data, Nested(schema))


def faults_of_query(error: ValidationError, schema: Schema) -> Iterator[Fault]:
    """The faults that a schema finds in query parameters; each place is the name of one."""
    for fault in faults_of_body(error, schema):
        yield Fault(fault.place.removeprefix("/"), fault.detail, fault.value, fault.accepted)


def _walk(messages: Any, at: str, data: Any, field: Field[Any] | None) -> Iterator[Fault]:
    if not isinstance(messages, dict):
        for message in messages:
            yield Fault(at, str(message), data, _choices(field, message))
        return
    schema = field.schema if isinstance(field, Nested) else None
    for token, below in messages.items():
        if token == "_schema":
            yield from _walk(below, at, data, field)
        elif schema is not None and token not in schema.fields:
            yield Fault(pointer(at, token), below[0], data[token], tuple(schema.fields))
        else:
            yield from _walk(below, pointer(at, token), _below(data, token), _field_below(field, token))


def _below(data: Any, token: Any) -> Any:
    return data.get(token) if isinstance(data, Mapping) else data[token]


def _field_below(field: Field[Any] | None, token: Any) -> Field[Any] | None:
    if isinstance(field, Nested):
        return field.schema.fields.get(token)
    return field.inner if isinstance(field, List) else None


def _choices(field: Field[Any] | None, message: str) -> tuple[object, ...]:
    """The closed list that the value is not in, where that is what the message says."""
    for validator in field.validators if field is not None else ():
        if isinstance(validator, OneOf) and message == validator.error.format(choices=validator.choices_text):
            return tuple(validator.choices)
    return ()
