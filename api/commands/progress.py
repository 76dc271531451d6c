"""Shows how far a long command has come, where a person watches."""

from __future__ import annotations

import sys

import click


def tell(stage: str) -> None:
    """Show what is being done in place of what was; "" leaves the line empty."""
    if sys.stderr.isatty():
        click.echo(f"\r\033[K{stage}", nl=False, err=True)
