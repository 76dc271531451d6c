"""A scaffold has gaps that the check points at, and is sound once they are filled in."""

from __future__ import annotations

import re

import pytest
from tiny_pack import SMALL, overlay

from rules.authoring.formatting import laid_out
from rules.authoring.scaffolding import NoScaffold, scaffold
from rules.loading import check_files

FILLED = (
    ("name_of_a_fact: its_value", "damage_type: crack"),
    ("require: [name-of-a-stage]", "caution: [radar-limits]"),
    ("material:\n", "material: PP\n"),
    ("present: [name-of-a-stage]", "present: [prime]"),
    ("why:\n", "why: It is good to know.\n"),
    ("source:\n", "source: invented\n"),
)


def filled(text: str) -> str:
    for gap, filling in FILLED:
        text = text.replace(gap, filling)
    return text


def test_the_check_points_at_every_gap() -> None:
    files = {**SMALL, **scaffold([SMALL], "warn-of-cracks", "warn-of-cracks")}
    found = [(each.place.file, each.place.line, each.code) for each in check_files([files]).findings]
    assert found == [
        ("cases/warn-of-cracks.yaml", 4, "R011"),
        ("cases/warn-of-cracks.yaml", 5, "R012"),
        ("cases/warn-of-cracks.yaml", 6, "R116"),
        ("rules/warn-of-cracks.yaml", 3, "R012"),
        ("rules/warn-of-cracks.yaml", 4, "R116"),
        ("rules/warn-of-cracks.yaml", 5, "R011"),
        ("rules/warn-of-cracks.yaml", 6, "R011"),
    ]


def test_it_is_sound_once_the_gaps_are_filled_in() -> None:
    texts = scaffold([SMALL], "warn-of-cracks", "warn-of-cracks")
    checked = check_files([{**SMALL, **{path: filled(text) for path, text in texts.items()}}])
    assert checked.findings == ()
    assert checked.pack.rules["warn-of-cracks"].cautions == ("radar-limits",)
    assert checked.cases[-1].name == "warn-of-cracks fires"


def test_it_stands_in_the_canonical_layout() -> None:
    for text in scaffold([SMALL], "warn-of-cracks", "new").values():
        assert laid_out(text) == text


def test_it_is_added_below_what_a_file_has_already() -> None:
    more = "  # Nothing follows.\n\nassertions: []\n"
    files = {**SMALL, "rules/refinish.yaml": SMALL["rules/refinish.yaml"].rstrip() + more}
    texts = scaffold([files], "warn-of-cracks", "refinish")
    rules = texts["rules/refinish.yaml"]
    assert rules.startswith(
        SMALL["rules/refinish.yaml"].rstrip() + "  # Nothing follows.\n  - id: warn-of-cracks\n"
    )
    assert rules.endswith("\n    source:\n\nassertions: []\n")
    assert texts["cases/refinish.yaml"].startswith("cases:\n  - name: warn-of-cracks fires\n")
    checked = check_files(
        [{**SMALL, "rules/refinish.yaml": filled(rules.removesuffix("\nassertions: []\n"))}]
    )
    assert checked.findings == ()


def test_it_follows_the_indentation_of_the_file() -> None:
    text = "rules:\n-   id: a\n    when: {b: [c,\n       d]}"
    new = scaffold([{**SMALL, "rules/more.yaml": text}], "second", "more")["rules/more.yaml"]
    assert new.startswith(text + "\n- id: second\n  when: ")


@pytest.mark.parametrize(
    ("stack", "rule", "says"),
    [
        ([SMALL], "Warn_Of_Cracks", "write 'warn-of-cracks'"),
        ([SMALL], "promote", "is there already, at rules/refinish.yaml:7:5"),
        (overlay(amend="cases: []\n"), "promote", "is there already"),
        (overlay(amend="withdraw:\n  - {rule: promote, why: Not here.}\n"), "promote", "is there already"),
        ([{**SMALL, "rules/new.yaml": "rules: []\n"}], "new", "has no list 'rules:' of lines"),
        ([{**SMALL, "cases/new.yaml": "rules: []\n"}], "new", "has no list 'cases:' of lines"),
        ([{**SMALL, "cases/new.yaml": "cases: [\n"}], "new", "cases/new.yaml: the file cannot be read"),
        ([{**SMALL, "cases/new.yaml": "cases: *a\n"}], "new", "cases/new.yaml: the file cannot be read"),
        ([{**SMALL, "cases/new.yaml": "? [a]\n: b\n"}], "new", "cases/new.yaml: the file cannot be read"),
    ],
)
def test_what_cannot_be_added_is_told(stack, rule: str, says: str) -> None:
    with pytest.raises(NoScaffold, match=re.escape(says)):
        scaffold(stack, rule, "new")


def test_a_pack_with_gaps_may_get_another_rule() -> None:
    files = {**SMALL, **scaffold([SMALL], "first", "new")}
    texts = scaffold([files], "second", "new")
    assert texts["rules/new.yaml"].count("- id: ") == 2
    with pytest.raises(NoScaffold, match="is there already"):
        scaffold([files], "first", "other")
