"""`stagewright rules new-rule`."""

from __future__ import annotations

import re
from pathlib import Path

import click

from api.commands.packs import end_refused
from api.commands.writing import write_whole
from rules.authoring.scaffolding import NoScaffold, scaffold
from rules.loading import BASE_PACK, PackRefused, read_folder
from rules.loading.header import name_and_extends


@click.command(name="new-rule")
@click.argument("folder", metavar="PACK", type=click.Path(path_type=Path))
@click.argument("rule_id", metavar="ID")
@click.option(
    "--file",
    "stem",
    metavar="NAME",
    help="Add to rules/NAME.yaml and cases/NAME.yaml; they are called like the rule if left out.",
)
def new_rule(folder: Path, rule_id: str, stem: str | None) -> None:
    """Add a rule and a case for it, with gaps to fill in.

    `rules check` then points at every gap until it is filled in.

    Example: stagewright rules new-rule my-pack promote-low-energy-plastics --file priming
    """
    stem = (stem or rule_id).removesuffix(".yaml")
    if not re.fullmatch(r"[A-Za-z0-9_-]+", stem):
        raise click.ClickException(f"a file cannot be called '{stem}'; use letters, digits, '-' and '_'")
    try:
        files = read_folder(folder)
        if "pack.yaml" not in files:
            raise click.ClickException(f"{folder} holds no pack.yaml; name the folder of a pack")
        extends = name_and_extends(files["pack.yaml"])[1]
        stack = [read_folder(BASE_PACK), files] if extends == BASE_PACK.name else [files]
        texts = scaffold(stack, rule_id, stem)
    except PackRefused as refused:
        end_refused(folder, refused.findings)
    except NoScaffold as error:
        raise click.ClickException(str(error)) from error
    for path, text in texts.items():
        write_whole(folder / path, text)
        click.echo(f"{folder / path}")
    click.echo(f"Fill the gaps in; 'stagewright rules check {folder}' points at them.")
