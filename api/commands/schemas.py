"""`stagewright rules schemas`."""

from __future__ import annotations

from pathlib import Path

import click

from api.commands.writing import write_whole
from rules.loading import BASE_PACK
from schemas.pack_files_published import published_schemas

SCHEMAS = BASE_PACK.parent / "schemas"


@click.command()
@click.argument("folder", metavar="[FOLDER]", type=click.Path(path_type=Path), default=SCHEMAS)
def schemas(folder: Path) -> None:
    """Write a JSON Schema for each kind of pack file, by which editors check and complete what is typed.

    An editor that knows YAML schemas reads one when the first line of a pack file names it:
    `# yaml-language-server: $schema=../schemas/rules.json`, relative to the file. Left out, FOLDER is
    where the schemas come with the program.

    Example: stagewright rules schemas my-packs/schemas
    """
    for name, text in published_schemas().items():
        write_whole(folder / name, text)
        click.echo(f"{folder / name}")
