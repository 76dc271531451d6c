import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.strict_json import MAX_DEPTH, MAX_NUMBER_LENGTH, MalformedJson, read_json


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (b"", "the body is empty"),
        (b" \r\n", "the body is empty"),
        (b"{", "line 1, column 2"),
        (b'{"a": 1,}', "line 1, column"),
        (b'{"a": 1} {}', "Extra data"),
        (b"{'a': 1}", "double quotes"),
        (b'{"a": 1, "a": 2}', 'member "a" is given twice'),
        (b'{"a": {"b": 1, "\\u0062": 2}}', 'member "b" is given twice'),
        (b'{"a": NaN}', "NaN"),
        (b'{"a": Infinity}', "Infinity"),
        (b'{"a": -Infinity}', "-Infinity"),
        (b'{"a": 1e999}', "too large"),
        (b'{"a": ' + b"9" * 5000 + b"}", "too many digits"),
        (b'{"a": 0.' + b"1" * 5000 + b"}", "too many digits"),
        (b'{"a": ["\\ud800"]}', "'/a/0' holds half of a surrogate pair"),
        (b'{"a": {"\\udc00": 1}}', "'/a' holds half of a surrogate pair"),
        (b'{"a/b": "x\\u0000"}', "'/a~1b' holds the character NUL"),
        (b'"\\u0000"', "the top holds the character NUL"),
        (b'{"a": "\x00"}', "Invalid control character"),
        (b'{"a": "\xff"}', "not UTF-8"),
        (b'\xef\xbb\xbf{"a": 1}', "BOM"),
        ('{"a": 1}'.encode("utf-16"), "not UTF-8"),
        (b"[" * 20_000, "nested deeper"),
        (b'{"a":' * 20_000, "nested deeper"),
        (b"[" * (MAX_DEPTH + 2) + b"]" * (MAX_DEPTH + 2), "nested deeper"),
    ],
)
def test_what_cannot_be_read_in_one_way_is_refused_with_its_place(text: bytes, told: str) -> None:
    with pytest.raises(MalformedJson) as refused:
        read_json(text)
    assert told in str(refused.value)


def test_the_bounds_themselves_are_accepted() -> None:
    assert read_json(b"[" * MAX_DEPTH + b"]" * MAX_DEPTH)
    assert read_json(b"9" * MAX_NUMBER_LENGTH) == int("9" * MAX_NUMBER_LENGTH)
    assert read_json(b'"\\ud83d\\ude97"') == "\N{AUTOMOBILE}"


leaves = (
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats(allow_nan=False, allow_infinity=False)
)
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))


@settings(max_examples=60)
@given(
    st.recursive(
        leaves | texts, lambda below: st.lists(below) | st.dictionaries(texts, below), max_leaves=10
    ),
    st.booleans(),
)
def test_everything_else_is_read_as_it_was_written(value: object, ascii_only: bool) -> None:
    assert read_json(json.dumps(value, ensure_ascii=ascii_only).encode()) == value
