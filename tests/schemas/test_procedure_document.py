from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.figures import decimal, plain, tenth
from schemas.procedure.document import identifier_of, is_identifier

json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text("ab\u00e9"),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text("ab", max_size=3), below, max_size=3),
    max_leaves=8,
)
documents = st.dictionaries(st.text("abc", min_size=1, max_size=4), json_values, max_size=4)


@settings(max_examples=60)
@given(documents, st.randoms(use_true_random=False))
def test_the_id_is_blind_to_the_order_of_members_to_itself_and_to_links(
    document: dict[str, Any], random: Any
) -> None:
    members = list(document.items())
    random.shuffle(members)
    identifier = identifier_of(document)
    assert identifier_of({"links": {"self": "x"}, **dict(members), "id": identifier}) == identifier
    assert identifier_of(json.loads(json.dumps(document))) == identifier
    assert is_identifier(identifier)


@settings(max_examples=60)
@given(documents, documents)
def test_different_content_has_different_ids(one: dict[str, Any], other: dict[str, Any]) -> None:
    def text(document: dict[str, Any]) -> str:
        return json.dumps(document, sort_keys=True)

    assert (identifier_of(one) == identifier_of(other)) == (text(one) == text(other))


def test_the_id_can_be_checked_by_anyone() -> None:
    canonical = '{"a":{"b":"\u00e9","c":[1,2.5]},"d":null}'
    digest = hashlib.sha256(canonical.encode()).hexdigest()
    document = {"d": None, "a": {"c": [1, 2.5], "b": "\u00e9"}, "id": "pr-0", "links": {}}
    assert identifier_of(document) == f"pr-{digest[:32]}"


def test_what_is_no_id_is_told_from_one() -> None:
    good = "pr-" + "0" * 32
    assert is_identifier(good)
    assert not any(map(is_identifier, ("", "pr-0", good + "\n", good.upper(), good + "0", "\0")))


def test_figures_are_written_without_needless_digits() -> None:
    assert [json.dumps(tenth(value)) for value in (12.0, 12.04, 12.36, -0.04)] == ["12", "12", "12.4", "0"]
    assert json.dumps([plain(2.0), plain(2.5), plain(True), plain("2.0")]) == '[2, 2.5, true, "2.0"]'
    assert [decimal(Decimal(text)) for text in ("1E+3", "0.10")] == ["1000", "0.10"]
