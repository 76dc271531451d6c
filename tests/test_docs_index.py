"""The index leads to every page, by who reads it; what is said of versions is said of this one."""

from __future__ import annotations

import re
import tomllib
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
INDEX = (DOCS / "README.md").read_text(encoding="utf-8")
PAGES = [page.name for page in DOCS.glob("*.md")]
READERS = [
    "You repair and refinish parts",
    "You write the estimate, or promise the date",
    "You connect shop software",
    "You write the rules",
    "You run the service, or answer for it",
    "You work on the code",
]


def links(text: str) -> list[str]:
    return re.findall(r"\]\(([^)#]+)[^)]*\)", text)


def test_every_page_is_in_the_index() -> None:
    assert {*PAGES, "codes/README.md"} - {"README.md"} <= set(links(INDEX))


def test_every_reader_finds_something() -> None:
    sections = [each.partition("\n") for each in re.split(r"^## ", INDEX, flags=re.MULTILINE)[1:]]
    assert [heading for heading, _, _ in sections] == READERS
    assert all(links(pages) for _, _, pages in sections)


def test_the_readme_leads_to_the_index() -> None:
    assert "docs/README.md" in links((ROOT / "README.md").read_text(encoding="utf-8"))


def test_the_newest_changes_are_of_the_version_that_is_built() -> None:
    built = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    changes = (DOCS / "changelog.md").read_text(encoding="utf-8")
    newest = re.findall(r"^## (\d+\.\d+\.\d+)", changes, re.MULTILINE)[0]
    assert newest == built
    assert f"`{built}`" in (DOCS / "versioning.md").read_text(encoding="utf-8")


def test_the_notice_that_is_shown_is_the_one_that_is_promised() -> None:
    page = (DOCS / "versioning.md").read_text(encoding="utf-8")
    (since,) = re.findall(r"^Deprecation: @(\d+)$", page, re.MULTILINE)
    (sunset,) = re.findall(r"^Sunset: (.+)$", page, re.MULTILINE)
    notice = parsedate_to_datetime(sunset) - datetime.fromtimestamp(int(since), UTC)
    assert 365 <= notice.days <= 366
