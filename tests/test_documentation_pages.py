"""Generated pages are as the code generates them now."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.commands import main
from api.problem_types import PROBLEM_TYPES
from rules.authoring.code_pages import code_pages
from rules.codes import CODES

ROOT = Path(__file__).parent.parent
CODE_PAGES = ROOT / "docs" / "codes"
DOCS = ROOT / "docs"
TABLE = DOCS / "typical_line_items.md"


def test_the_pages_of_the_codes_are_up_to_date() -> None:
    pages = {path.name: path.read_text(encoding="utf-8") for path in CODE_PAGES.iterdir()}
    assert pages == code_pages(), "run 'stagewright rules code --pages docs/codes'"


def test_every_code_has_a_page_that_the_index_leads_to() -> None:
    index = (CODE_PAGES / "README.md").read_text(encoding="utf-8")
    for code in CODES.values():
        page = (CODE_PAGES / f"{code.id}.md").read_text(encoding="utf-8")
        assert f"[{code.id}]({code.id}.md) {code.title}" in index
        assert page.startswith(f"# {code.id}: {code.title}\n\n{code.why}\n")
        assert all(text in page for text in (code.example, code.good, code.mend))


def test_the_page_of_problems_is_up_to_date() -> None:
    page = (DOCS / "problems.md").read_text(encoding="utf-8")
    assert page == CliRunner().invoke(main, ["problems"]).output, "run 'make docs'"
    assert set(re.findall(r"^## (.+)$", page, re.MULTILINE)) == {kind.slug for kind in PROBLEM_TYPES}
    for kind in PROBLEM_TYPES:
        assert all(text in page for text in (kind.title, kind.meaning, kind.mend))


@pytest.mark.parametrize(("command", "page"), [("table", "typical_line_items"), ("quote", "quotes")])
def test_pages_of_line_items_are_up_to_date(monkeypatch: pytest.MonkeyPatch, command: str, page: str) -> None:
    monkeypatch.chdir(ROOT)
    result = CliRunner().invoke(main, ["rules", command, f"docs/{page}.yaml"])
    assert result.exit_code == 0, result.output
    assert (DOCS / f"{page}.md").read_text(encoding="utf-8") == result.output, "run 'make docs'"


def test_every_quote_was_read() -> None:
    page = (DOCS / "quotes.md").read_text(encoding="utf-8")
    assert page.count("\n## ") == page.count("\n**Read.** ") == 6


def test_the_table_holds_twelve_invented_line_items_of_every_disposition() -> None:
    page = TABLE.read_text(encoding="utf-8")
    assert "All of them are invented" in page
    rows = [line for line in page.splitlines() if line.startswith("| ")][1:]
    assert len(rows) == 12
    assert {row.split(" | ")[5] for row in rows} == {"repair", "replace", "refer"}
