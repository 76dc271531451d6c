"""`stagewright audit`: what was done to rules, estimates and keys, and whether that record is whole."""

from __future__ import annotations

import click

from api.settings import Settings
from storage.faults import StoreUnavailable
from storage.store import open_store

BROKEN = 2


@click.group()
def audit() -> None:
    """The record of which rule packs were kept, proven and put in force, and of shops, keys and estimates.

    Example: stagewright audit verify
    """


@audit.command()
@click.option(
    "--database",
    metavar="URL",
    default=Settings.database_url,
    show_default=True,
    help="sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME.",
)
@click.option("--head", metavar="HASH", help="A hash that was printed before; it must still be there.")
@click.pass_context
def verify(context: click.Context, database: str, head: str | None) -> None:
    """Walk the chain of entries, and tell every one that was changed or taken away.

    Prints the hash of the last entry: keep it elsewhere, and give it as --head another time, to see
    that no entries at the end were taken away. Exit code 0 when whole, 2 when not.

    Example: stagewright audit verify --database sqlite:///stagewright.sqlite3
    """
    try:
        store = open_store(database, must_exist=True)
        report = store.audit.verify(head)
        store.close()
    except StoreUnavailable as error:
        raise click.ClickException(str(error)) from error
    for fault in report.faults:
        click.echo(fault, err=True)
    click.echo(
        f"{report.entries} entries, {'broken' if report.faults else 'whole'}; the last is {report.head}"
    )
    context.exit(BROKEN if report.faults else 0)
