"""README and contributor pages say what is so: their examples work, their commands and files exist."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click import Command, Group
from click.testing import CliRunner

from api.application import create_app
from api.commands import main
from api.settings import Settings

ROOT = Path(__file__).parent.parent
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "rules" / "README.md",
    *sorted((ROOT / "docs").glob("*.md")),
]


def blocks(page: Path, language: str) -> list[str]:
    """The fenced blocks of one language, in order."""
    return re.findall(
        rf"^```{language}\n(.*?)^```", page.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE
    )


@pytest.mark.parametrize("example", blocks(PAGES[0], "json"))
def test_every_line_item_of_the_readme_gets_a_procedure(example: str, tmp_path: Path) -> None:
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'readme.sqlite3'}", without_keys=True))
    assert app.test_client().post("/v1/procedures", json=json.loads(example)).status_code == 201


def test_the_case_that_the_page_on_rules_shows_passes(tmp_path: Path) -> None:
    (case,) = [block for block in blocks(ROOT / "rules" / "README.md", "yaml") if block.startswith("cases:")]
    named = "{name: shown, version: 1.0.0, title: Shown, effective_from: 2026-01-01, extends: base}"
    (tmp_path / "pack.yaml").write_text(f"pack: {named}\n", encoding="utf-8")
    (tmp_path / "cases.yaml").write_text(case, encoding="utf-8")
    result = CliRunner().invoke(main, ["rules", "test", str(tmp_path)])
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_command_named_exists(page: Path) -> None:
    # Not a database that is called so, as in --dbname=stagewright.
    named = re.findall(r"(?<!=)stagewright ((?:[a-z][a-z-]* ?)+)", page.read_text(encoding="utf-8"))
    for words in named:
        command: Command = main
        for word in words.split():
            if not isinstance(command, Group):
                break
            assert word in command.commands, f"{page.name} names 'stagewright {words}'"
            command = command.commands[word]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_and_target_leads_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for link in re.findall(r"\]\(([^)#]+)[^)]*\)", text):
        assert "://" in link or (page.parent / link).exists(), link
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    assert set(re.findall(r"`make ([a-z]+)", text)) <= targets


def test_every_call_of_the_readme_is_in_the_published_document(tmp_path: Path) -> None:
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'readme.sqlite3'}", without_keys=True))
    rules = {re.sub(r"<(?:\w+:)?(\w+)>", "{}", str(rule)) for rule in app.url_map.iter_rules()}
    calls = re.findall(r"`(?:GET |POST |PUT )?(/[a-z0-9_./{}-]+)", PAGES[0].read_text(encoding="utf-8"))
    assert calls
    for call in calls:
        assert re.sub(r"\{\w+\}", "{}", call) in rules, call
