"""`stagewright demo`."""

from __future__ import annotations

from pathlib import Path

import click

from api.demo.faults import DemoFailed
from api.demo.run import run_demo

FOLDER = Path(".demo")


@click.command()
@click.option("--once", is_flag=True, help="Stop the service again at the end.")
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=8080,
    show_default=True,
    help="Where the service listens; the next free port if this one is taken.",
)
def demo(once: bool, port: int) -> None:
    """Start the service, post invented line items to it, print the procedures.

    The shop, its customers and the prices are invented. The database and the log are in the folder
    .demo. The service is left running; what it says at the end tells how to stop it.

    Example: stagewright demo --once
    """
    try:
        run_demo(FOLDER, port, once, click.echo)
    except DemoFailed as failed:
        raise click.ClickException(str(failed)) from failed
