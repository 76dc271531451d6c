"""`stagewright rules explain`."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

import click

from api.commands.explained import about_rule, as_json, explained_by, facts_in
from api.commands.explanation_text import explanation_text
from api.commands.packs import pack_in


@click.command()
@click.argument("folder", metavar="PACK", type=click.Path(path_type=Path))
@click.argument("facts_file", metavar="FACTS.json", type=click.File("rb"))
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option(
    "--rule", metavar="ID", help="Only what this rule did, or what would have to change for it to fire."
)
def explain(folder: Path, facts_file: BinaryIO, form: str, rule: str | None) -> None:
    """Tell what a rule pack decides on some facts, which rules asked for it, and why the others did not.

    FACTS.json holds the material and facts by name, such as {"material": "TPO", "condition":
    "factory_finish", "damage_type": "crack", "damage_length_mm": 80}; - reads standard input.

    Example: stagewright rules explain rules/packs/base facts.json
    """
    pack, _ = pack_in(folder)
    explained = explained_by(pack, facts_in(facts_file))
    if rule is not None:
        explained = about_rule(explained, rule)
    click.echo(as_json(explained) if form == "json" else explanation_text(explained))
