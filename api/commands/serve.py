"""`stagewright serve`."""

from __future__ import annotations

import ipaddress
import logging
import signal
import socket
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import NoReturn

import click
import waitress
from flask import Flask

from api.application import Settings, create_app
from api.commands.packs import end_refused
from api.packs.at_work import active_pack
from api.packs.background import Repeating
from api.packs.watching import FolderWatch
from api.snapshot import in_use
from rules.engines.limits import EngineLimit
from rules.loading import BASE_PACK, PackRefused
from storage.faults import StoreUnavailable

THREADS = 4
FOLLOW_EVERY_S = 1.0
LOOK_EVERY_S = 1.0


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8080, show_default=True, help="0 takes any free one."
)
@click.option(
    "--database",
    metavar="URL",
    default=Settings.database_url,
    show_default=True,
    help="Where procedures are kept: sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME.",
)
@click.option(
    "--pack",
    metavar="FOLDER",
    type=Path,
    default=BASE_PACK,
    help="The rule pack to begin with, where the database names none; the base pack if left out.",
)
@click.option(
    "--watch",
    metavar="FOLDER",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="A folder with a rule pack: what is saved there is proven and put in force.",
)
@click.option("--open", "without_keys", is_flag=True, help="Ask nobody for a key; loopback only.")
def serve(host: str, port: int, database: str, pack: Path, watch: Path | None, without_keys: bool) -> None:
    """Answer line items over HTTP until stopped.

    Example: stagewright serve --open --port 8080
    """
    _refuse_strangers(host, without_keys)
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    # It warns of every request that waits for a thread, however briefly.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    settings = Settings(database_url=database, pack_folder=pack)
    with _listening(host, port) as listening:
        app = _application(settings)
        server = waitress.create_server(
            app,
            sockets=[listening],
            threads=THREADS,
            # Far above what the application refuses with a problem document; this bounds what is buffered.
            max_request_body_size=2 * settings.max_pack_bytes,
        )
        signal.signal(signal.SIGTERM, _finish)
        for work in _beside(app, watch):
            work.start()
        server.print_listen("stagewright answers at http://{}:{} without keys, so to this machine alone")
        server.run()


def _beside(app: Flask, watch: Path | None) -> Iterator[Repeating]:
    """What the service does beside answering."""
    active = active_pack(app)
    yield Repeating("following what is in force", FOLLOW_EVERY_S, active.follow)
    if watch is not None:
        folder = FolderWatch(watch, active, in_use(app).store)
        yield Repeating("watching the folder", LOOK_EVERY_S, folder.look)


def _finish(_signal: int, _frame: FrameType | None) -> NoReturn:
    """Lets requests under way end."""
    raise SystemExit(0)


def _refuse_strangers(host: str, without_keys: bool) -> None:
    if not without_keys:
        raise click.ClickException(
            "there are no keys yet, so the service cannot tell who asks; "
            "add --open to serve this machine alone, without keys"
        )
    if not _is_loopback(host):
        raise click.ClickException(
            f"--open serves this machine alone, and --host {host} may be reached from others; "
            "use --host 127.0.0.1"
        )


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


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
