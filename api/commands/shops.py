"""`stagewright shops`: who the service works for."""

from __future__ import annotations

import click

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
