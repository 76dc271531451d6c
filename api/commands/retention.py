"""`stagewright retention`: old line items are removed, by whoever runs the service, or its clock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

import click

from api.commands.stores import ORIGIN, database_option, opened
from storage.removing.line_items import Removed
from storage.shops import Shop
from storage.store import Store

MOST_DAYS = 36_500

DAYS = click.IntRange(0, MOST_DAYS)


@click.command()
@click.option("--older-than", type=DAYS, metavar="DAYS", help="For shops that do not say how long they keep.")
@click.option("--shop", help="Only of this shop.")
@click.option("--dry-run", is_flag=True, help="Say what would go, and remove nothing.")
@database_option
def retention(older_than: int | None, shop: str | None, dry_run: bool, database: str) -> None:
    """Remove line items that were issued last so many days ago, with their procedures and reports.

    How long a shop keeps them is set by `stagewright shops keep`, and goes before --older-than. What was
    learned from reports stays. The service may run meanwhile; what was removed is not found any more.

    Example: stagewright retention --older-than 730 --dry-run
    """
    verb = "would be" if dry_run else "were"
    with opened(database, shop=shop) as store:
        chosen = [each for each in store.shops.all() if shop in (None, each.id)]
        for each, before in _due(chosen, older_than):
            removed = _count(store, each, before) if dry_run else _remove(store, each, before)
            click.echo(f"{each.id}: {_told(removed)} of before {before:%Y-%m-%d %H:%M} UTC {verb} removed")


def _due(shops: Sequence[Shop], older_than: int | None) -> Iterator[tuple[Shop, datetime]]:
    """Each shop of which something may be removed, and what is old in it."""
    now = datetime.now(UTC)
    for shop in shops:
        days = older_than if shop.keep_days is None else shop.keep_days
        if days is None:
            click.echo(f"{shop.id}: keeps everything; see --older-than, or stagewright shops keep")
        else:
            yield shop, now - timedelta(days=days)


def _count(store: Store, shop: Shop, before: datetime) -> Removed:
    return store.old_line_items.count(shop.id, before)


def _remove(store: Store, shop: Shop, before: datetime) -> Removed:
    return sum(store.old_line_items.remove(shop.id, before, ORIGIN), Removed())


def _told(removed: Removed) -> str:
    return f"{removed.line_items} line items, {removed.procedures} procedures and {removed.reports} reports"
