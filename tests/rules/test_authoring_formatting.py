"""The canonical layout: what it changes, and that nothing that is read or remarked is lost by it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tiny_pack import SMALL, overlay

from rules.authoring.formatting import CannotLayOut, laid_out
from rules.loading import BASE_PACK, check_files, read_folder
from rules.pack import Pack

OVERLAY = BASE_PACK.parent / "example-overlay"


def same_but_for_text(pack: Pack) -> Pack:
    return replace(pack, digest="", files={}, withdrawn={})


LAYOUTS = (
    ("rules:\n- id: a\n  why: b\n", "rules:\n  - id: a\n    why: b\n"),
    ("rules:\n    -   id:   a  \n", "rules:\n  - id: a\n"),
    ("rules:\n  - why: b\n    id: a\n", "rules:\n  - id: a\n    why: b\n"),
    ("rules:\n  - why: b\n    when: {b: x, a: y}\n", "rules:\n  - when: {b: x, a: y}\n    why: b\n"),
    ("rules: [{why: b,id: a}]\n", "rules: [{id: a, why: b}]\n"),
    ("cases:\n  - name: 'it''s'\n", 'cases:\n  - name: "it\'s"\n'),
    ("cases:\n  - name: 'a \"b\"'\n", "cases:\n  - name: 'a \"b\"'\n"),
    ("\n\n# head\n\n\n\ncases: []\n\n\n", "# head\n\ncases: []\n"),
    ("cases: [] # none\n# foot", "cases: []  # none\n# foot\n"),
    (
        "pack:\n  title: a     # one\n  name: a-b    # two\n",
        "pack:\n  name: a-b    # two\n  title: a     # one\n",
    ),
    ("rules:\n  - {id: a} # all of it\n", "rules:\n  - {id: a}  # all of it\n"),
    ("rules: [ # none\n  ]\n", "rules: []  # none\n"),
    ("rules: [\n  # none\n  ]\n", "# none\nrules: []\n"),
    ("cases:\n\n  - name: a\n", "cases:\n  - name: a\n"),
    ("rules:\n  - # first\n    # of all\n    id: a\n", "rules:\n  # first\n  # of all\n  - id: a\n"),
    ("cases:\n  - name:\n      # why\n      a\n", "cases:\n  # why\n  - name: a\n"),
    ("phases: [a, # one\n  b]  # all\n", "phases:  # all\n  - a  # one\n  - b\n"),
    (
        "rules:\n  - id: a\n    # below a\n# above cases\ncases: []\n",
        "rules:\n  - id: a\n    # below a\n# above cases\ncases: []\n",
    ),
    (
        "rules:\n  - why: b  # of b\n    # of a\n    id: a\n",
        "rules:\n  # of a\n  - id: a\n    why: b  # of b\n",
    ),
    (
        "cases:\n  - name: >-\n         long\n           longer\n\n         end\n\n\n  - name: b\n",
        "cases:\n  - name: >-\n      long\n        longer\n\n      end\n\n  - name: b\n",
    ),
    ("cases:\n  - name: one\n         two\n", "cases:\n  - name: one\n      two\n"),
    ("\ufeff---\r\ncases: []\r\n", "cases: []\n"),
)


@pytest.mark.parametrize(("text", "expected"), LAYOUTS)
def test_the_layout_of_a_text(text: str, expected: str) -> None:
    assert laid_out(text) == expected
    assert laid_out(expected) == expected


def test_brackets_that_are_too_wide_are_broken_up() -> None:
    names = [f"a-rather-long-name-of-a-stage-{number}" for number in range(8)]
    text = laid_out(f"rules:\n  - {{id: a, require: [{', '.join(names)}], why: b, source: c}}\n")
    lines = text.splitlines()
    assert max(map(len, lines)) <= 120
    assert lines[1:3] == ["  - id: a", f"    require: [{', '.join(names[:3])},"]
    assert lines[3].startswith(f"      {names[3]}, ")
    assert laid_out(text) == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "# nothing",
        "- a",
        "rules: [",
        "a: &b c",
        "a: *b",
        "a: 1\na: 2",
        "a: 1\n---\nb: 2",
        "a: \x07",
        "a: |+\n b\n",
    ],
)
def test_what_cannot_be_read_is_not_laid_out(text: str) -> None:
    with pytest.raises(CannotLayOut):
        laid_out(text)


def test_an_empty_value_in_brackets_gets_a_line_of_its_own() -> None:
    assert laid_out("cases: [{name: , given: a}]\n") == "cases:\n  - name:\n    given: a\n"


def test_gaps_that_are_still_to_be_filled_in_are_no_hindrance() -> None:
    text = "rules:\n  - id: a\n    why:\n    source:  # whose word\n"
    assert laid_out(text) == text


@pytest.mark.parametrize("folder", [BASE_PACK, OVERLAY], ids=lambda folder: folder.name)
def test_the_packs_of_the_service_are_read_alike_in_the_canonical_layout(folder) -> None:
    below = [] if folder == BASE_PACK else [read_folder(BASE_PACK)]
    files = read_folder(folder)
    formatted = {path: laid_out(text) for path, text in files.items()}
    assert all(laid_out(text) == text for text in formatted.values())
    before, after = check_files([*below, files]), check_files([*below, formatted])
    assert same_but_for_text(after.pack) == same_but_for_text(before.pack)
    assert (after.cases, after.assertions) == (before.cases, before.assertions)


def test_an_overlay_is_read_alike() -> None:
    base, own = overlay(amend="amend:\n  stages:\n    prime: {title: 'Thinly', check: null}\n")
    before = check_files([base, own])
    after = check_files([base, {path: laid_out(text) for path, text in own.items()}])
    assert same_but_for_text(after.pack) == same_but_for_text(before.pack)


# Random files: any nesting, any style, comments and empty lines wherever YAML allows them.

NAMES = st.sampled_from(["id", "why", "when", "rules", "cases", "name", "set", "a", "b-c", "not"])
TEXTS = st.sampled_from(
    [
        "plain",
        "two words",
        "1.5",
        "true",
        "null",
        "2026-01-31",
        "'single'",
        "'it''s'",
        '"double"',
        "'a: b'",
        '"\\u00e4 \\" #"',
        "'# no comment'",
        "ünïcödé",
        "'say \"so\"'",
        "a#b",
        "🙂 wide",
    ]
)
REMARKS = st.sampled_from(["# one", "#two", "# three: {a: [b]}", "# - four", "#"])


@st.composite
def flows(draw: st.DrawFn, depth: int = 2) -> str:
    """A value on one line or, in brackets, on several."""
    kind = draw(st.integers(0, 3)) if depth else 0
    if kind < 2:
        return draw(TEXTS)
    gap = draw(
        st.sampled_from(
            [" ", "", "\n                ", "  # within\n                ", " \n\n                "]
        )
    )
    inner = [draw(flows(depth - 1)) for _ in range(draw(st.integers(0, 3)))]
    if kind == 2:
        return "[" + gap.join(["", *(f"{item}," for item in inner)]) + " ]"
    keyed = [f"{key}: {item}," for key, item in zip(["id", "b", "when"], inner, strict=False)]
    return "{" + gap.join(["", *keyed]) + " }"


@st.composite
def blocks(draw: st.DrawFn, indent: int = 0, depth: int = 3) -> list[str]:
    """The lines of a mapping or list."""
    step = draw(st.integers(1, 4))
    lines: list[str] = []
    sequence = indent > 0 and draw(st.booleans())
    keys = (
        [""] * draw(st.integers(1, 3))
        if sequence
        else draw(st.lists(NAMES, min_size=1, max_size=4, unique=True))
    )
    for key in keys:
        lines += draw(
            st.lists(
                st.just("") | REMARKS.map(lambda remark: " " * draw(st.integers(0, 12)) + remark), max_size=2
            )
        )
        label = " " * indent + (f"{key}:" if key else "-")
        behind = draw(st.just("") | REMARKS.map(lambda remark: f"   {remark}"))
        kind = draw(st.integers(0, 3)) if depth else 0
        if kind < 2:
            lines.append(f"{label} {draw(flows())}{behind}")
        elif kind == 2:
            chomp = draw(st.sampled_from([">-", "|", ">", "|-"]))
            lines += [
                f"{label} {chomp}",
                *(" " * (indent + step) + each for each in ("first", "", "  second")),
            ]
        else:
            lines += [label + behind, *draw(blocks(indent + step, depth - 1))]
    return lines


@settings(max_examples=150, deadline=None)
@given(blocks())
def test_any_file_is_laid_out_once_and_for_all(lines: list[str]) -> None:
    text = "\n".join(lines) + "\n"
    # It raises where a comment would be lost or where anything would be read differently.
    result = laid_out(text)
    assert laid_out(result) == result
    assert "\t" not in result
    assert [line for line in result.splitlines() if line != line.rstrip()] == []


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_the_small_pack_is_read_alike_whatever_it_looked_like(data: st.DataObject) -> None:
    files = {path: data.draw(dishevelled(text)) for path, text in SMALL.items()}
    formatted = {path: laid_out(text) for path, text in files.items()}
    before, after = check_files([files]), check_files([formatted])
    assert before.findings == after.findings == ()
    assert same_but_for_text(after.pack) == same_but_for_text(before.pack)


@st.composite
def dishevelled(draw: st.DrawFn, text: str) -> str:
    """The text with blanks, empty lines and comments between its lines."""
    lines: list[str] = []
    for line in text.splitlines():
        lines += draw(st.lists(st.sampled_from(["", "   ", "# a", "      # b"]), max_size=1))
        lines.append(line + draw(st.sampled_from(["", "", "  ", "  # c"])))
    return "\n".join(lines) + "\n"
