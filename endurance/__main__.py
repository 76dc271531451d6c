"""`python -m endurance crash` and `python -m endurance load`: see `make crash` and `make load`."""

from __future__ import annotations

import logging
import sys

import click

from endurance.crash import report as crashes
from endurance.load import report as loads
from endurance.postgresql import NoServer


@click.group()
def main() -> None:
    """What the service does when it is killed, and under load for long."""
    logging.basicConfig(level=logging.ERROR)


@main.command()
@click.option("--sqlite", default=60, show_default=True, help="How often it is killed on SQLite.")
@click.option("--postgresql", default=30, show_default=True, help="How often on a PostgreSQL of its own.")
@click.option("--seed", default=1, show_default=True)
def crash(sqlite: int, postgresql: int, seed: int) -> None:
    """Kill the service in the midst of writing, and look whether all that was acknowledged is there, once."""
    try:
        sys.exit(crashes.run(sqlite, postgresql, seed))
    except NoServer as error:
        raise click.ClickException(f"{error}; --postgresql 0 leaves it out") from error


@main.command()
@click.option("--minutes", default=15.0, show_default=True, help="How long it is held at its rate.")
@click.option("--postgresql", is_flag=True, help="On a PostgreSQL of its own, not on SQLite.")
@click.option("--serve", is_flag=True, help="One process, as `stagewright serve` is, not gunicorn with two.")
@click.option("--seed", default=1, show_default=True)
def load(minutes: float, postgresql: bool, serve: bool, seed: int) -> None:
    """Find the peak, then ask for a part of it for long: are all requests answered, and does memory grow."""
    try:
        sys.exit(loads.run(minutes, postgresql, serve, seed))
    except NoServer as error:
        raise click.ClickException(str(error)) from error


if __name__ == "__main__":
    main()
