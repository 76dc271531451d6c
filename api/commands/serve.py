"""`stagewright serve`."""

from __future__ import annotations

import logging
import os
import socket
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import click
from flask import Flask

from api.application import Settings, create_app
from api.commands.packs import end_refused
from api.keys.loopback import is_loopback
from api.packs.at_work import at_work
from api.packs.background import Repeating
from api.packs.service_pack import START
from api.packs.watching import FolderWatch
from api.running.beside import beside
from api.running.environment import SettingsRefused, settings_from
from api.running.http_server import HttpServer, end_by_signal
from api.running.logs import FORMATS, write_log
from api.snapshot import in_use
from rules.engines.limits import EngineLimit
from rules.loading import PackRefused
from storage.faults import StoreUnavailable
from storage.store import Store

LOOK_EVERY_S = 1.0
WORN_OUT = 1
"""The exit code of a service that its memory has left: whatever watches over it starts it anew."""

OPEN = "without keys, so to this machine alone"
KEYED = "to whoever sends a key"

_log = logging.getLogger("stagewright")


@click.command()
@click.option("--host", help="The address to listen on; 127.0.0.1 if left out.")
@click.option("--port", type=click.IntRange(0, 65535), help="8080 if left out; 0 takes any free one.")
@click.option(
    "--database",
    metavar="URL",
    help="Where procedures are kept: sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME; "
    f"{Settings.database_url} if left out.",
)
@click.option(
    "--pack",
    metavar="FOLDER",
    type=Path,
    help="The rule pack to begin with, where the database names none; the base pack if left out.",
)
@click.option(
    "--watch",
    metavar="FOLDER",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="A folder with a rule pack: what is saved there is proven and put in force.",
)
@click.option("--open", "open_", is_flag=True, help="Ask nobody for a key; this machine alone.")
@click.option(
    "--log", "log_format", type=click.Choice(FORMATS), help="How the log is written; json if left out."
)
def serve(
    host: str | None,
    port: int | None,
    database: str | None,
    pack: Path | None,
    watch: Path | None,
    open_: bool,
    log_format: str | None,
) -> None:
    """Answer line items over HTTP until stopped.

    Every caller sends a key. Where the database has none, a first one for everything is printed, this once;
    `stagewright keys` makes others. With --open nobody is asked for a key, and only this machine is served.
    What no option says is taken from the environment (STAGEWRIGHT_DATABASE and others).

    Example: stagewright serve --open --port 8080
    """
    settings = _settings(
        host=host,
        port=port,
        database_url=database,
        pack_folder=pack,
        without_keys=open_ or None,
        log_format=log_format,
    )
    write_log(settings.log_format)
    # It warns of every request that waits for a thread, however briefly.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    with _listening(settings.host, settings.port) as listening:
        app = _application(settings)
        server = HttpServer(app, [listening], settings)
        end_by_signal(server)
        for work in _beside(app, watch, server):
            work.start()
        if not settings.without_keys:
            _tell_of_keys(in_use(app).store, settings.host)
        _log.info("stagewright answers at %s %s", server.address, OPEN if settings.without_keys else KEYED)
        code = server.run()
        in_use(app).store.close()
        sys.exit(code)


def _beside(app: Flask, watch: Path | None, server: HttpServer) -> Iterator[Repeating]:
    """What the service does beside answering."""
    yield from beside(app, partial(server.stop, WORN_OUT))
    if watch is not None:
        work = at_work(app)
        folder = FolderWatch(watch, work.active, in_use(app).store, work.proofs)
        yield Repeating("watching the folder", LOOK_EVERY_S, folder.look)


def _tell_of_keys(store: Store, host: str) -> None:
    """Print a first key where there is none, and warn of keys that travel in the clear."""
    first = store.keys.create_first(START)
    if first is not None:
        click.echo(f"there was no key yet; this one is for everything, and never shown again:\n{first.text}")
    if not is_loopback(host):
        _log.warning("keys travel in the clear from other machines, unless a proxy speaks TLS with them")


def _settings(**options: Any) -> Settings:
    try:
        return settings_from(os.environ, **options)
    except SettingsRefused as refused:
        raise click.ClickException(str(refused)) from refused


def _listening(host: str, port: int) -> socket.socket:
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        return socket.create_server((host, port), family=family)
    except OSError as error:
        told = f"cannot listen on {host} port {port}: {error.strerror}; choose another with --port"
        raise click.ClickException(told) from error


def _application(settings: Settings) -> Flask:
    try:
        return create_app(settings)
    except PackRefused as refused:
        end_refused(settings.pack_folder, refused.findings)
    except (EngineLimit, StoreUnavailable) as error:
        raise click.ClickException(str(error)) from error
