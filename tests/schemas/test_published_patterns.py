"""What the document says of a text, and what the service takes, is the same."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from marshmallow import ValidationError

from schemas.fields import ANY_TEXT, MOMENT, DecimalStr, Flag, Moment, Text, line

FIELDS: dict[str, Any] = {
    "any text": Text(),
    "one line": line(100),
    "decimal": DecimalStr(),
    "moment": Moment(),
    "letters": Text(pattern="[a-z0-9]+(-[a-z0-9]+)*", form="small letters"),
}


def taken(field: Any, text: str) -> bool:
    try:
        field.deserialize(text)
    except ValidationError:
        return False
    return True


TEXTS = (
    st.text(max_size=12)
    | st.from_regex(f"^{MOMENT}$")
    | st.sampled_from(
        [
            "",
            "\0",
            "a\0",
            "a\n",
            "\n",
            " ",
            "7.50",
            "7.5\n",
            "a-b",
            "a-",
            "\x7f",
            "é",
            "\N{AUTOMOBILE}",
            "\u2028",
        ]
    )
)


@pytest.mark.parametrize("name", FIELDS)
@given(text=TEXTS)
def test_another_reader_of_the_pattern_takes_what_the_service_takes(name: str, text: str) -> None:
    field = FIELDS[name]
    pattern = jsonschema_rs.Draft202012Validator({"type": "string", "pattern": field.metadata["pattern"]})
    if taken(field, text):
        assert pattern.is_valid(text)
    elif name != "moment" and len(text) <= 100:
        # The lengths of months no pattern tells; `format` does.
        assert not pattern.is_valid(text)


@given(st.from_regex(MOMENT, fullmatch=True))
@example("2000-01-01T00:00:00+14:00")
@example("2199-12-31T23:59:59-23:59")
@example("2024-02-29T12:00:00Z")
@example("2023-02-29T12:00:00Z")
def test_a_moment_of_the_published_form_is_taken_if_it_is_in_the_calendar(text: str) -> None:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        assert not taken(Moment(), text)
    else:
        assert taken(Moment(), text)


@pytest.mark.parametrize(
    "text", ["1999-12-31T23:59:59Z", "2200-01-01T00:00:00Z", "2027-03-02T24:00:00Z", "2027-03-02T08:15:60Z"]
)
def test_a_moment_of_another_form_is_refused(text: str) -> None:
    assert not taken(Moment(), text)
    assert not re.fullmatch(MOMENT, text)


def test_text_leaves_out_nul_alone() -> None:
    assert re.fullmatch(ANY_TEXT, "".join(map(chr, range(1, 0x500))))
    assert not re.fullmatch(ANY_TEXT, "a\0b")


@pytest.mark.parametrize(("text", "truth"), [("true", True), ("false", False)])
def test_a_flag_is_spelled_in_one_way(text: str, truth: bool) -> None:
    assert Flag().deserialize(text) is truth
    for other in (text.upper(), f"{text} ", "1", "0", ""):
        assert not taken(Flag(), other)
