"""`stagewright audit`: what was done to rules, estimates and keys, and whether that record is whole."""

from __future__ import annotations

import click

from api.commands.stores import database_option, opened

BROKEN = 2


@click.group()
def audit() -> None:
    """The record of which rule packs were kept, proven and put in force, and of shops, keys and estimates.

    Example: stagewright audit verify
    """


@audit.command()
@database_option
@click.option("--head", metavar="HASH", help="A hash that was printed before; it must still be there.")
@click.pass_context
def verify(context: click.Context, database: str, head: str | None) -> None:
    """Walk the chain of entries, and tell every one that was changed or taken away.

    Prints the hash of the last entry: keep it elsewhere, and give it as --head another time, to see
    that no entries at the end were taken away. Exit code 0 when whole, 2 when not.

    Example: stagewright audit verify --database sqlite:///stagewright.sqlite3
    """
    with opened(database) as store:
        report = store.audit.verify(head)
    for fault in report.faults:
        click.echo(fault, err=True)
    click.echo(
        f"{report.entries} entries, {'broken' if report.faults else 'whole'}; the last is {report.head}"
    )
    context.exit(BROKEN if report.faults else 0)
