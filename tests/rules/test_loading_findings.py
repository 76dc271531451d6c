"""Findings as people, programs and build servers read them."""

from __future__ import annotations

import json
from pathlib import Path
from re import findall

import pytest

import rules
from rules.codes import CODES
from rules.findings import Finding, as_annotations, as_json, as_text, in_order
from rules.places import Place

FIRST = Finding("R012", Place("rules/a.yaml", 14, 7, "shop"), "unknown fact 'x'; did you mean 'y'?")
SECOND = Finding("R011", Place("rules/b,c.yaml", 2, 1, "shop"), "100% of\n'no'")


def test_text_is_one_line_a_finding():
    assert as_text([FIRST, SECOND], "shop/") == (
        "shop/rules/a.yaml:14:7 R012 unknown fact 'x'; did you mean 'y'?\n"
        "shop/rules/b,c.yaml:2:1 R011 100% of\\n'no'\n"
    )


def test_text_has_nothing_that_a_terminal_acts_upon():
    assert as_text([Finding("R012", Place("a.yaml", 1, 1), "\x1b[31m")]) == "a.yaml:1:1 R012 \\x1b[31m\n"


def test_json_has_a_member_for_each_part():
    assert json.loads(as_json([FIRST])) == [
        {
            "code": "R012",
            "pack": "shop",
            "file": "rules/a.yaml",
            "line": 14,
            "column": 7,
            "message": FIRST.message,
        }
    ]
    assert json.loads(as_json([])) == []


def test_annotations_are_workflow_commands_with_their_signs_escaped():
    assert as_annotations([FIRST, SECOND], "shop/") == (
        "::error file=shop/rules/a.yaml,line=14,col=7,title=R012::unknown fact 'x'; did you mean 'y'?\n"
        "::error file=shop/rules/b%2Cc.yaml,line=2,col=1,title=R011::100%25 of%0A'no'\n"
    )


def test_the_order_is_pack_file_line_column_and_repetitions_go():
    below = Finding("R999", Place("z.yaml", 9, 9, "base"), "")
    earlier = Finding("R999", Place("rules/a.yaml", 3, 70, "shop"), "")
    assert in_order([SECOND, FIRST, below, earlier, FIRST]) == (below, earlier, FIRST, SECOND)


@pytest.mark.parametrize(
    ("code", "stops"), [("R001", True), ("R199", True), ("R201", False), ("R301", False), ("R401", False)]
)
def test_a_finding_tells_whether_a_pack_can_be_built_at_all(code: str, stops: bool):
    assert Finding(code, Place("a.yaml", 1, 1), "").stops_loading is stops


def test_every_code_says_what_it_means():
    for code_id, code in CODES.items():
        assert code.id == code_id
        assert all((code.title, code.why, code.mend, code.example))
        assert code.why.endswith(".")
        assert code.mend.endswith(".")
    titles = [code.title for code in CODES.values()]
    assert len(set(titles)) == len(titles)


def test_every_code_that_the_loading_can_tell_is_registered():
    folder = Path(rules.__file__).parent
    used = {
        code
        for part in ("loading", "checks", "cases", "engines")
        for file in (folder / part).rglob("*.py")
        for code in findall(r'"(R\d{3})"', file.read_text())
    }
    assert used <= CODES.keys()
    assert {code for code in CODES if code[:2] not in ("R5", "R6")} <= used
