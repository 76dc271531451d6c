"""`stagewright worker`."""

from __future__ import annotations

import logging
import os

import click
from huey import Huey

from api.events.delivering import Delivering
from api.events.queue import queue_at
from api.events.sending import Sender
from api.events.worker import Worker
from api.running.environment import SettingsRefused, settings_from
from api.running.logs import FORMATS, write_log
from api.settings import Settings
from storage.faults import StoreUnavailable
from storage.store import Store, open_store


@click.command()
@click.option("--database", metavar="URL", help=f"That of the service; {Settings.database_url} if left out.")
@click.option(
    "--queue",
    metavar="URL",
    help=f"What workers share: sqlite:///FILE or redis://HOST:PORT/NUMBER; {Settings.queue_url} if left out.",
)
@click.option(
    "--log", "log_format", type=click.Choice(FORMATS), help="How the log is written; json if left out."
)
def worker(database: str | None, queue: str | None, log_format: str | None) -> None:
    """Tell webhooks of events until stopped; there may be several workers.

    What no option says is taken from the environment (STAGEWRIGHT_DATABASE and others).

    Example: stagewright worker --queue sqlite:///stagewright-queue.sqlite3
    """
    try:
        settings = settings_from(os.environ, database_url=database, queue_url=queue, log_format=log_format)
    except SettingsRefused as refused:
        raise click.ClickException(str(refused)) from refused
    write_log(settings.log_format)
    # It tells of every turn, and without end of a queue that does not answer; we tell once.
    logging.getLogger("huey").setLevel(logging.WARNING)
    logging.getLogger("huey.consumer.Worker").setLevel(logging.CRITICAL)
    # Its warnings quote the address, whose path may hold a secret, and what the endpoint answered.
    logging.getLogger("urllib3").setLevel(logging.ERROR)
    queued, store = _queue(settings.queue_url), _store(settings.database_url)
    sender = Sender(settings.webhook_networks, settings.webhook_timeout_s)
    delivering = Delivering(store.claims, sender, settings.webhook_timeout_s)
    click.echo("stagewright tells webhooks of events")
    Worker(queued, store.claims, delivering, settings.senders).run()
    store.close()


def _queue(url: str) -> Huey:
    try:
        queue = queue_at(url)
        queue.pending_count()
    except Exception as error:  # of whichever library keeps it
        raise click.ClickException(f"the queue can't be used: {error}") from error
    return queue


def _store(url: str) -> Store:
    try:
        return open_store(url)
    except StoreUnavailable as error:
        raise click.ClickException(str(error)) from error
