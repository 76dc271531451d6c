"""`stagewright shops`: who the service works for."""

from __future__ import annotations

import json
import sys

import click

from api.commands.overlays import overlays
from api.commands.retention import DAYS
from api.commands.stores import ORIGIN, database_option, echo_table, opened
from storage.faults import ShopRefused


@click.group()
def shops() -> None:
    """The shops that a service works for. What one is issued no other sees.

    The shop `local` runs the service and is always there.

    Example: stagewright shops create north --name "The shop in the north"
    """


@shops.command()
@click.argument("shop_id", metavar="ID")
@click.option("--name", required=True, help="How people call it.")
@database_option
def create(shop_id: str, name: str, database: str) -> None:
    """Add a shop. It needs keys of its own: stagewright keys create --shop ID.

    Example: stagewright shops create north --name "The shop in the north"
    """
    with opened(database, ShopRefused) as store:
        shop = store.shops.create(shop_id, name, ORIGIN)
    click.echo(f"{shop.id}: created")


@shops.command("list")
@database_option
def list_(database: str) -> None:
    """Show every shop.

    Example: stagewright shops list --database sqlite:///stagewright.sqlite3
    """
    with opened(database) as store:
        found = store.shops.all()
    rows = [(shop.id, f"{shop.created_at:%Y-%m-%d}", shop.name) for shop in found]
    echo_table(("shop", "since", "name"), rows, click.echo)


@shops.command()
@click.argument("shop_id", metavar="ID")
@click.option("--days", type=DAYS, help="So many days after they were issued last.")
@click.option("--no-limit", is_flag=True, help="As long as whoever runs the service keeps those of others.")
@database_option
def keep(shop_id: str, days: int | None, no_limit: bool, database: str) -> None:
    """Say how long the line items of a shop are kept; `stagewright retention` then removes older ones.

    Example: stagewright shops keep north --days 730
    """
    if (days is None) != no_limit:
        raise click.UsageError("name either --days or --no-limit")
    with opened(database, shop=shop_id) as store:
        store.shops.keep(shop_id, days, ORIGIN)
    told = "says no time of its own" if days is None else f"keeps line items {days} days"
    click.echo(f"{shop_id}: {told}")


@shops.command()
@click.argument("shop_id", metavar="ID")
@database_option
def export(shop_id: str, database: str) -> None:
    """Write everything that is kept of a shop to standard output, one JSON object a line.

    The first line counts the rows of each table; each of the others is a row. Secrets of keys, webhooks and
    links are left out.

    Example: stagewright shops export north > north.jsonl
    """
    with opened(database, shop=shop_id) as store:
        for row in store.exports.of_shop(shop_id):
            sys.stdout.write(json.dumps({"table": row.table, **row.columns}) + "\n")


@shops.command()
@click.argument("shop_id", metavar="ID")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option("--dry-run", is_flag=True, help="Say what would go, and delete nothing.")
@database_option
def delete(shop_id: str, yes: bool, dry_run: bool, database: str) -> None:
    """Delete a shop with everything that is its own: keys, line items, procedures, reports, rule packs.

    The entries of the audit stay, as its chain is never changed: id and name of the shop, names and prefixes
    of its keys, hosts of its webhooks, digests of its rule packs, and no line item. It cannot be taken back:
    export it first, and make a backup.

    Example: stagewright shops delete north --dry-run
    """
    with opened(database, ShopRefused, shop=shop_id) as store:
        for table, count in store.shop_removal.rows(shop_id).items():
            click.echo(f"{table}: {count}")
        if dry_run:
            return
        if not yes and click.prompt(f"to delete all this, write the id of the shop ({shop_id})") != shop_id:
            raise click.ClickException("that is not the id; nothing was deleted")
        store.shop_removal.delete(shop_id, ORIGIN)
    click.echo(f"{shop_id}: deleted")


shops.add_command(overlays)
