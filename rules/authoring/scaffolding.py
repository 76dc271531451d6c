"""A new rule and a case for it, with gaps that `rules check` points at until they are filled in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from textwrap import indent

from rules.authoring.formatting.reading import tree_of
from rules.authoring.formatting.tree import Block, CannotLayOut, last_index
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.sections import source_of
from rules.loading.values import Joint, checked_name
from rules.places import Place

_RULE = """\
- id: {id}
  when: {{name_of_a_fact: its_value}}
  require: [name-of-a-stage]
  why:
  source:
"""
_CASE = """\
- name: {id} fires
  given:
    material:
    name_of_a_fact: its_value
  expect: {{present: [name-of-a-stage]}}
"""


class NoScaffold(ValueError):
    """The rule can't be added; the message says why and what to do."""


def scaffold(stack: Sequence[Mapping[str, str]], rule_id: str, stem: str) -> dict[str, str]:
    """The new texts of `rules/STEM.yaml` and `cases/STEM.yaml`, by path. Raises NoScaffold.

    `stack` holds the files of the packs, lowest first; the rule is for the uppermost. What stands in its
    files stays as it is. The packs may have findings, such as the gaps of another new rule.
    """
    report = Report()
    checked_name(rule_id, Place("", 1, 1), "the id", Joint.KEBAB, report)
    if report.findings:
        raise NoScaffold(report.findings[0].message)
    for files in stack:
        taken = source_of(files, "", Report()).sections["rules"].get(rule_id)
        if taken:
            raise NoScaffold(
                f"the rule {quoted(rule_id)} is there already, at {taken.place}; find another id"
            )
    texts: dict[str, str] = {}
    for kind, item in (("rules", _RULE), ("cases", _CASE)):
        path = f"{kind}/{stem}.yaml"
        texts[path] = _with_item(stack[-1].get(path), kind, path, item.format(id=rule_id))
    return texts


def _with_item(text: str | None, kind: str, path: str, item: str) -> str:
    """`text` with one more item at the end of its list `kind`."""
    if text is None:
        return f"{kind}:\n" + indent(item, "  ")
    try:
        root, _ = tree_of(text)
    except CannotLayOut as error:
        raise NoScaffold(f"{path}: {error}") from error
    entries = root.entries if isinstance(root, Block) else []
    found = next((entry.value for entry in entries if entry.key == kind), None)
    if not isinstance(found, Block) or found.flow or not found.entries:
        raise NoScaffold(f"{path} has no list '{kind}:' of lines that begin with '- '; name another --file")
    end = text.find("\n", last_index(found))
    before, after = (text, "") if end < 0 else (text[:end], text[end + 1 :])
    return f"{before}\n" + indent(item, " " * found.column) + after
