"""`stagewright links`: the signed links that shops have given out."""

from __future__ import annotations

import click

from api.commands.stores import ORIGIN, database_option, opened
from storage.shops import LOCAL


@click.group()
def links() -> None:
    """Links that open a procedure, or its timeline, without a key. Shop software gives them out.

    Example: stagewright links revoke --shop north
    """


@links.command()
@click.option("--shop", default=LOCAL, show_default=True, help="The shop.")
@database_option
def revoke(shop: str, database: str) -> None:
    """End every link that a shop has given out. A running service refuses them from its next request on.

    Example: stagewright links revoke --shop north
    """
    with opened(database, shop=shop) as store:
        store.links.revoke(shop, ORIGIN)
    click.echo(f"{shop}: every link that was given opens nothing any more")
