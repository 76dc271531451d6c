"""The page about links: its examples get the answers that it shows, and its figures are the code's."""

from __future__ import annotations

import pytest
from pages_at_hand import Exchange, examples, prose_of, text_of

from api.links.opening import HIDDEN
from schemas.links import A_DAY_MIN, MOST_MIN, OPENED

PAGE = "links.md"
NUMBERS = range(len(examples(PAGE)))


@pytest.mark.parametrize("number", NUMBERS)
def test_an_example_gets_the_answer_that_is_shown(held: list[Exchange], number: int) -> None:
    held[number].hold()


def test_what_is_said_of_links_is_what_the_code_does() -> None:
    assert f"{A_DAY_MIN} (a day) if left out, {MOST_MIN} (30 days) at most" in prose_of(PAGE)
    assert all(f"| `{name}` |" in text_of(PAGE) for name in OPENED)
    assert all(f"{name}: {value}" in text_of(PAGE) for name, value in HIDDEN.items())
