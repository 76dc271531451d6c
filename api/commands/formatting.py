"""`stagewright rules fmt`."""

from __future__ import annotations

from pathlib import Path

import click

from api.commands.packs import CANNOT_LOAD, CHECK_FAILS, CLEAN, end_refused
from api.commands.writing import write_whole
from rules.authoring.formatting import CannotLayOut, laid_out
from rules.loading import PackRefused, read_folder


@click.command()
@click.argument("folder", metavar="PACK", type=click.Path(path_type=Path))
@click.option("--check", "only_check", is_flag=True, help="Name the files that would change; change none.")
@click.pass_context
def fmt(context: click.Context, folder: Path, only_check: bool) -> None:
    """Lay the files of a rule pack out alike.

    Indents by two, puts members into the order of rules/README.md, breaks up brackets that would pass
    column 120, writes quotes double where that needs no other spelling, and takes needless blanks away.
    Comments stay with what they stand by. What the loader reads does not change; a file for which that
    can't be shown is left as it is. Exit code 0, with --check 2 when a file would change, and 1 when a
    file cannot be read.

    Example: stagewright rules fmt my-pack --check
    """
    try:
        files = read_folder(folder)
    except PackRefused as refused:
        end_refused(folder, refused.findings)
    result = CLEAN
    for path, text in files.items():
        try:
            formatted = laid_out(text)
        except CannotLayOut as error:
            click.echo(f"{folder / path}: left as it is: {error}", err=True)
            result = CANNOT_LOAD
            continue
        if formatted != text:
            click.echo(f"{folder / path}")
            if only_check:
                result = result or CHECK_FAILS
            else:
                write_whole(folder / path, formatted)
    context.exit(result)
