"""`stagewright openapi`."""

from __future__ import annotations

import click

from api.commands.packs import end_refused
from api.openapi import openapi_yaml
from rules.loading import BASE_PACK, PackRefused


@click.command()
def openapi() -> None:
    """Print the OpenAPI description of the service.

    Example: stagewright openapi > openapi.yaml
    """
    try:
        click.echo(openapi_yaml(), nl=False)
    except PackRefused as refused:
        end_refused(BASE_PACK, refused.findings)
