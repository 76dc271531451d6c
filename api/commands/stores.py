"""What the commands that work on a database share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

import click

from api.settings import Settings
from storage.faults import ShopUnknown, StoreUnavailable
from storage.store import Store, open_store

ORIGIN = "command line"

database_option = click.option(
    "--database",
    metavar="URL",
    envvar="STAGEWRIGHT_DATABASE",
    default=Settings.database_url,
    show_default=True,
    show_envvar=True,
    help="sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME.",
)


@contextmanager
def opened(database: str, *expected: type[Exception], shop: str | None = None) -> Iterator[Store]:
    """The store, where it knows the `shop`; what is `expected` ends the command with its message."""
    ends: tuple[type[Exception], ...] = (StoreUnavailable, ShopUnknown, *expected)
    try:
        store = open_store(database, must_exist=True)
        try:
            if shop is not None:
                store.shops.refuse_unknown(shop)
            yield store
        finally:
            store.close()
    except ends as error:
        raise click.ClickException(str(error)) from error


def echo_table(heading: Sequence[str], rows: Sequence[Sequence[str]], echo: Callable[[str], object]) -> None:
    """Columns, each as wide as its widest cell."""
    lines = [heading, *rows]
    widths = [max(len(line[number]) for line in lines) for number in range(len(heading))]
    for line in lines:
        cells = (cell.ljust(width) for cell, width in zip(line, widths, strict=True))
        echo("  ".join(cells).rstrip())
