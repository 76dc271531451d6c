"""`stagewright rules facts` and `stagewright rules code`."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill, indent

import click

from api.commands.packs import checked_in, pack_argument
from api.commands.writing import write_whole
from rules.authoring.code_pages import code_pages
from rules.codes import CODES

WIDTH = 100


@click.command()
@pack_argument
def facts(folder: Path) -> None:
    """Tell how much a rule pack holds.

    Example: stagewright rules facts rules/packs/base
    """
    checked = checked_in(folder)
    pack = checked.pack
    click.echo(f"{pack.name} {pack.version}: {pack.title}")
    click.echo(f"digest {pack.digest}")
    counts = {
        "substrates": pack.substrates,
        "facts": pack.vocabulary.facts,
        "rules": pack.rules,
        "stages": pack.stages,
        "cautions": pack.cautions,
        "materials": pack.materials,
        "jurisdictions": pack.jurisdictions,
        "policies": pack.policies,
        "cases": checked.cases,
        "assertions": checked.assertions,
    }
    for name, things in counts.items():
        click.echo(f"{len(things):>6} {name}")


@click.command()
@click.argument("code_id", metavar="[CODE]", required=False)
@click.option(
    "--pages", metavar="FOLDER", type=click.Path(path_type=Path), help="Write a page for every code."
)
def code(code_id: str | None, pages: Path | None) -> None:
    """Tell what the code of a finding means and how to mend it.

    Example: stagewright rules code R012
    """
    if pages:
        for name, page in code_pages().items():
            write_whole(pages / name, page)
        return
    known = CODES.get((code_id or "").upper())
    if known is None:
        told = f"'{code_id}' is not a code" if code_id else "name a code"
        raise click.ClickException(f"{told}; there are {', '.join(sorted(CODES))}")
    click.echo(f"{known.id}  {known.title}\n")
    for words in (known.why, known.mend):
        click.echo(fill(words, WIDTH) + "\n")
    click.echo(f"For example, what is refused:\n\n{indent(known.example, '    ')}\n")
    click.echo(f"and what is not:\n\n{indent(known.good, '    ')}")
