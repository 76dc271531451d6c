"""`stagewright rules diff`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from api.commands.packs import written
from rules.authoring.difference.compare import Difference, difference
from rules.authoring.difference.joint import NotComparable
from rules.loading import check_folder
from rules.pack import Pack

SAME, DIFFERENT, TROUBLE = 0, 1, 2
SHOWN = 50


@click.command(name="diff")
@click.argument("first", metavar="A", type=click.Path(path_type=Path))
@click.argument("second", metavar="B", type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help=f"Show every group, not only the {SHOWN} widest.")
@click.pass_context
def diff(context: click.Context, first: Path, second: Path, everything: bool) -> None:
    """Tell what rule pack B answers otherwise than A, and for which line items.

    Compares the answers, not the lines: dispositions and their reasons, stages, parameters, cautions and
    the catalogue, over every combination of facts that both packs admit. Differences that are seen in
    the very same combinations (cells) stand together, with how many there are and an example. Which
    rules ask for something is not compared. Exit code 0 when all is alike, 1 when something differs, 2
    when the packs cannot be compared.

    Example: stagewright rules diff rules/packs/base my-pack
    """
    packs = [_pack_in(folder) for folder in (first, second)]
    try:
        found = difference(*packs)
    except NotComparable as error:
        click.echo(f"Error: {error}", err=True)
        context.exit(TROUBLE)
    for label, folder, pack in zip("AB", (first, second), packs, strict=True):
        click.echo(f"{label} is {pack.name} {pack.version} in {folder}")
    click.echo("\n".join(_lines(found, len(found.groups) if everything else SHOWN)))
    context.exit(DIFFERENT if found.groups or found.notes else SAME)


def _pack_in(folder: Path) -> Pack:
    checked = check_folder(folder)
    if checked.pack is None:
        click.echo(written(folder, checked.findings, "text"), nl=False, err=True)
        raise SystemExit(TROUBLE)
    return checked.pack


def _lines(found: Difference, shown: int) -> Iterator[str]:
    yield f"{found.cells:,} cells compared, {found.changed:,} of them answered otherwise"
    for group in found.groups[:shown]:
        yield f"\nin {group.cells:,} cells, for example: {group.witness.in_words()}"
        yield from (f"  {told}" for told in group.told)
    if len(found.groups) > shown:
        yield f"\nand {len(found.groups) - shown} more groups, narrower ones; --all shows them"
    if found.notes:
        yield "\nbeside that"
        yield from (f"  {note}" for note in found.notes)
