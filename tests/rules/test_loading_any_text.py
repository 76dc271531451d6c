"""Whatever the files hold, loading answers with a pack or with findings; it never fails otherwise."""

from __future__ import annotations

import json

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tiny_pack import SMALL, overlay

from rules.codes import CODES
from rules.findings import as_annotations, as_json, as_text
from rules.loading import PackRefused, check_files, load_files

signs = st.sampled_from(
    ["\x00", "\ud800", "\ufeff", "\u2028", "\t", "&a ", "*a", "!x ", "- ", "{", "[", "'", ": "]
)
texts = st.one_of(
    st.text(max_size=60), st.lists(st.one_of(signs, st.text(max_size=3)), max_size=20).map("".join)
)
files = st.sampled_from(sorted(SMALL))
values = st.one_of(
    st.sampled_from(
        ["null", "[]", "{}", "no", "-1", '"2"', "1.5", "prime", "[prime]", "{prime: 1}", "always"]
    ),
    texts,
)


def check_survives(stack):
    """Findings are ordered, have known codes, and can be shown in every form."""
    checked = check_files(stack)
    assert checked.pack is not None or checked.findings
    for found in checked.findings:
        assert found.code in CODES
        assert found.place.line >= 1
        assert found.place.column >= 1
    lines = as_text(checked.findings).split("\n")
    assert len(lines) == len(checked.findings) + 1
    assert all(line.isprintable() for line in lines)
    assert as_annotations(checked.findings).count("\n") == len(checked.findings)
    assert len(json.loads(as_json(checked.findings))) == len(checked.findings)
    assert check_files(stack).findings == checked.findings


@settings(max_examples=60)
@given(files, texts)
@example("pack.yaml", "pack: {extends: base, name: [x]}")
@example("pack.yaml", "pack: " + "{a: " * 2000)
@example("rules/refinish.yaml", "rules: [{id: \ud800}]")
def test_any_text_as_a_file(file: str, text: str):
    check_survives([{**SMALL, file: text}])


@settings(max_examples=150)
@given(files, st.data())
def test_any_value_in_place_of_another(file: str, data: st.DataObject):
    lines = SMALL[file].splitlines()
    number = data.draw(st.integers(0, len(lines) - 1))
    key, colon, _ = lines[number].partition(": ")
    lines[number] = f"{key}{colon or ' '}{data.draw(values)}"
    check_survives([{**SMALL, file: "\n".join(lines) + "\n"}])


@settings(max_examples=60)
@given(files, st.data())
def test_any_lines_left_out(file: str, data: st.DataObject):
    lines = SMALL[file].splitlines(keepends=True)
    start = data.draw(st.integers(0, len(lines)))
    end = data.draw(st.integers(start, min(len(lines), start + 8)))
    check_survives([{**SMALL, file: "".join(lines[:start] + lines[end:])}])


@settings(max_examples=60)
@given(st.sampled_from(["stages", "substrates", "cautions", "materials", "facts"]), texts, values)
def test_any_amendment(kind: str, name: str, value: str):
    check_survives(overlay(more=f"amend:\n  {kind}:\n    {name}: {{title: {value}}}\n"))


@settings(max_examples=30)
@given(st.dictionaries(st.text(max_size=12), texts, max_size=3))
def test_loading_raises_nothing_but_pack_refused(stack_files: dict[str, str]):
    with pytest.raises(PackRefused) as refused:
        load_files([stack_files])
    assert refused.value.findings
