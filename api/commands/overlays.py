"""`stagewright shops overlays`: which shops have rules of their own in force, and which are behind."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import click

from api.commands.stores import database_option, echo_table, opened
from storage.records import KeptPack
from storage.shops import LOCAL
from storage.store import Store

Row = tuple[str, str, str, str, str]


@click.command()
@click.option("--behind", is_flag=True, help="Only those that are laid on an earlier pack of the service.")
@database_option
def overlays(behind: bool, database: str) -> None:
    """Show which shops have an overlay of their own in force, and what it is laid on.

    A shop is behind where the service has put another pack in force since. It stays on the one that its
    overlay was proven on until it has laid it on the new one (POST /v1/packs/{digest}/renewal) and put that
    in force.

    Example: stagewright shops overlays --behind
    """
    with opened(database) as store:
        rows = [row for row in _rows(store) if row[-1] or not behind]
    if rows:
        echo_table(("shop", "overlay", "laid on", "in force since", ""), rows, click.echo)


def _rows(store: Store) -> Iterator[Row]:
    decided = store.activations.decided_by_shop(datetime.now(UTC))
    service = decided.pop(LOCAL, None)
    for shop, activation in sorted(decided.items()):
        pack = None if activation.follows else store.packs.find(shop, activation.digest)
        if pack is not None:
            below = store.packs.find(LOCAL, pack.laid_on or "")
            is_behind = service is None or pack.laid_on != service.pack_digest
            since = f"{activation.effective_from:%Y-%m-%d}"
            yield shop, _named(pack), _named(below), since, "behind" if is_behind else ""


def _named(pack: KeptPack | None) -> str:
    """Packs of one name and version may differ, so that their digests are shown too."""
    return "" if pack is None else f"{pack.name} {pack.version} ({pack.digest[:8]})"
