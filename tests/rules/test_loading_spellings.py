"""Plain scalars: what is read, and what is refused because YAML readers do not agree on it."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st
from tiny_pack import changed

from rules.loading import check_files
from rules.loading.nodes import Spelling
from rules.loading.spellings import spelling_of

REFUSED = [
    *("no", "NO", "yes", "Yes", "on", "On", "off", "OFF", "True", "FALSE", "~", "Null", ""),
    *("12:30", "1:2:3", "010", "0x1F", "0b11", "0o17", "1_000", ".inf", "-.INF", ".nan", "1e3", "1.5E-3"),
    *("+5", ".5", "5.", "007.5", "2026-1-1", "2026-01-01 10:00:00", "2026-01-01T10:00", "=", "<<"),
]
READ = {
    **dict.fromkeys(["true", "false"], Spelling.BOOLEAN),
    **dict.fromkeys(["0", "-1", "12", "0.5", "-0.25", "1000000"], Spelling.NUMBER),
    **dict.fromkeys(
        ["none", "north", "1.0.0", "P180", "H334", "e5", "1 of 2", "-", "a:b", "y"], Spelling.TEXT
    ),
    "null": Spelling.NULL,
    "2026-01-31": Spelling.DATE,
}


@pytest.mark.parametrize("text", REFUSED)
def test_what_readers_do_not_agree_on_is_refused(text: str):
    assert spelling_of(text) is Spelling.FAULTY


@pytest.mark.parametrize(("text", "spelling"), READ.items())
def test_what_all_agree_on_is_read(text: str, spelling: Spelling):
    assert spelling_of(text) is spelling


@pytest.mark.parametrize("text", [text for text in REFUSED if text])
def test_the_message_shows_the_value_and_the_fix(text: str):
    planted = changed("rules/refinish.yaml", "why: Bare plastic needs it.", f"why: {text}")
    (found,) = check_files([planted]).findings
    assert (found.code, found.place.line, found.place.column) == ("R011", 5, 10)
    assert found.message.startswith(f"'{text}' is ")
    assert "; write " in found.message
    assert f"'{text}' in quotes where text is meant" in found.message


def test_a_value_that_is_missing_is_refused():
    (found,) = check_files([changed("facts.yaml", "default: false\n  damage", "default:\n  damage")]).findings
    assert (found.code, found.message) == (
        "R011",
        "a value is missing; write it, or null where null is meant",
    )


@pytest.mark.parametrize("text", REFUSED)
def test_in_quotes_it_is_a_text(text: str):
    planted = changed("rules/refinish.yaml", "why: Bare plastic needs it.", f'why: "{text}"')
    findings = check_files([planted]).findings
    assert [found.code for found in findings] == ([] if text else ["R108"])


# Written with what numbers, dates and times are written with, so that many are nearly one.
nearly_numbers = st.text("0123456789.:_+-eExXobTZ nNaAiIfF", max_size=12)
words = st.sampled_from(["yes", "no", "on", "off", "true", "false", "null", "y", "n"])
cases = st.sampled_from([str.lower, str.upper, str.title])


@given(st.one_of(nearly_numbers, st.builds(lambda word, case: case(word), words, cases)))
@example("190:20:30.15")
@example("685_230.15")
@example("2001-12-14t21:59:43.10-05:00")
def test_what_is_read_has_the_value_that_yaml_1_1_gives_it(text: str):
    spelling = spelling_of(text)
    read = yaml.SafeLoader("").resolve(yaml.ScalarNode, text, (True, False)).rsplit(":", 1)[-1]
    expected = {
        Spelling.TEXT: {"str"},
        Spelling.NUMBER: {"int", "float"},
        Spelling.BOOLEAN: {"bool"},
        Spelling.NULL: {"null"},
        Spelling.DATE: {"timestamp"},
    }
    assert spelling is Spelling.FAULTY or read in expected[spelling]
    if spelling is Spelling.NUMBER:
        assert float(yaml.safe_load(text)) == float(text)
