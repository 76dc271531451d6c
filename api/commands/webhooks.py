"""`stagewright webhooks`: where shops are told of what happens, for whoever runs the service."""

from __future__ import annotations

from urllib.parse import urlsplit

import click

from api.commands.stores import database_option, echo_table, opened
from storage.faults import WebhookUnknown
from storage.shops import LOCAL
from storage.webhook_records import Webhook

COLUMNS = ("id", "state", "host", "events", "description")

shop_option = click.option("--shop", default=LOCAL, show_default=True, help="The shop whose they are.")


@click.group()
def webhooks() -> None:
    """Where shops are told of what happens. Shops make their own by POST /v1/webhooks.

    Example: stagewright webhooks list --shop local
    """


@webhooks.command("list")
@shop_option
@database_option
def list_(shop: str, database: str) -> None:
    """Show the webhooks of a shop; of each address only the host, as its path may hold a secret.

    Example: stagewright webhooks list --shop local
    """
    with opened(database, shop=shop) as store:
        found = store.webhooks.all(shop)
    echo_table(COLUMNS, [_row(each) for each in found], click.echo)


@webhooks.command()
@click.argument("webhook_id", metavar="ID")
@shop_option
@database_option
def disable(webhook_id: str, shop: str, database: str) -> None:
    """Let nothing more be sent to a webhook, neither what waits nor what happens later.

    Its shop can let it go on. Where it is not to, revoke the keys of the shop that have the scope admin.

    Example: stagewright webhooks disable wh_0123456789abcdef0123456789abcdef
    """
    _switch(database, shop, webhook_id, enabled=False)
    click.echo(f"{webhook_id}: paused")


@webhooks.command()
@click.argument("webhook_id", metavar="ID")
@shop_option
@database_option
def enable(webhook_id: str, shop: str, database: str) -> None:
    """Let a webhook go on. What was stopped meanwhile is not sent until it is replayed.

    Example: stagewright webhooks enable wh_0123456789abcdef0123456789abcdef
    """
    _switch(database, shop, webhook_id, enabled=True)
    click.echo(f"{webhook_id}: goes on")


def _switch(database: str, shop: str, webhook_id: str, enabled: bool) -> None:
    with opened(database, WebhookUnknown, shop=shop) as store:
        store.webhooks.change(shop, webhook_id, enabled=enabled)


def _row(webhook: Webhook) -> tuple[str, ...]:
    state = "on" if webhook.enabled else f"paused ({webhook.disabled_because})"
    host = urlsplit(webhook.url).netloc
    return webhook.id, state, host, " ".join(webhook.events), webhook.description or "-"
