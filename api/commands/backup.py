"""`stagewright backup` and `stagewright restore`: a whole database into one file, and back."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from api.commands.stores import database_option, opened
from schemas.procedure.document import identifier_of
from storage.backups import backup as backups
from storage.backups.contents import Contents
from storage.faults import BackupRefused, StoreUnavailable
from storage.store import Store

SPOILED = 2

FILE = click.Path(path_type=Path)

_STOPPING = (signal.SIGTERM, signal.SIGHUP)
"""From an init system, and where the terminal is gone; under nohup the second is ignored."""


@click.command()
@click.argument("file", type=FILE)
@click.option("--overwrite", is_flag=True, help="Put it in place of a file that is there.")
@database_option
def backup(file: Path, overwrite: bool, database: str) -> None:
    """Copy the whole database into a file while the service runs. It is there as a whole, or not at all.

    The file holds the secrets of links and webhooks too: keep it as safe as the database. The hash of the
    last audit entry is printed; kept elsewhere, it shows after a restore that nothing was taken away.

    Example: stagewright backup stagewright.backup
    """
    with _orderly():
        contents = backups.back_up(database, file, overwrite)
    click.echo(f"{file}: {_told(contents)}")


@click.command()
@click.argument("file", type=FILE)
@click.option("--replace", is_flag=True, help="Lose what is in the database now.")
@database_option
@click.pass_context
def restore(context: click.Context, file: Path, replace: bool, database: str) -> None:
    """Bring a database back from a file, in the shape of this version, while no service works with it.

    Then looks through it: the chain of the audit, and every procedure by the digest that its id is. Exit code
    0 when all is whole, 2 when not. Keys and links that were ended since the backup hold again.

    Example: stagewright restore stagewright.backup --database sqlite:///stagewright.sqlite3
    """
    with _orderly():
        contents = backups.restore(database, file, replace)
    click.echo(f"restored: {_told(contents)}")
    with opened(database) as store:
        faults = list(_faults(store))
    for fault in faults:
        click.echo(fault, err=True)
    click.echo("it is broken" if faults else "the audit is whole, and every procedure is as it was issued")
    context.exit(SPOILED if faults else 0)


@contextmanager
def _orderly() -> Iterator[None]:
    """What fails ends the command with its message; whoever stops the command lets it tidy up."""
    heeded = [which for which in _STOPPING if signal.getsignal(which) is not signal.SIG_IGN]
    before = {which: signal.signal(which, lambda number, _frame: sys.exit(128 + number)) for which in heeded}
    try:
        yield
    except (BackupRefused, StoreUnavailable) as error:
        raise click.ClickException(str(error)) from error
    finally:
        for which, handler in before.items():
            signal.signal(which, handler)


def _faults(store: Store) -> Iterator[str]:
    yield from store.audit.verify().faults
    for shop, procedure_id, document in store.exports.every_procedure():
        if document.get("id") != procedure_id or identifier_of(document) != procedure_id:
            yield f"procedure {procedure_id} of the shop '{shop}' was changed"


def _told(contents: Contents) -> str:
    entries = f"{contents.entries} audit entries, the last is {contents.head}"
    return f"{contents.procedures} procedures, {entries}"
