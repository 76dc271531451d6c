"""`stagewright conformance`: whether a client does what the service expects of it."""

from __future__ import annotations

import click

from api.conformance.contract import contract_yaml
from api.conformance.driver import DriverFault
from api.conformance.report import as_json, as_text, passed
from api.conformance.run import verdicts_on
from api.conformance.service import service_of_its_own

FAILED, NOT_RUN = 1, 2


@click.command()
@click.argument("url", metavar="URL")
@click.option("--host", default="127.0.0.1", show_default=True, help="Where the kit answers the client.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="0, or left out, takes any free one.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How it is told.",
)
@click.option(
    "--contract",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=lambda context, _, wanted: _tell_contract(context, wanted),
    help="Write what a driver has to answer, as an OpenAPI document, and do nothing else.",
)
def conformance(url: str, host: str, port: int, form: str) -> None:
    """Play the service to a client, and check what it does when something goes wrong.

    URL is where the driver of the client listens, a small program that its integrator writes; see
    docs/conformance.md. Ends with 0 where all checks passed, 1 where one did not, 2 where the driver could
    not be asked.

    Example: stagewright conformance http://127.0.0.1:8090
    """
    try:
        with service_of_its_own() as service:
            verdicts = verdicts_on(url, service, host, port)
    except DriverFault as fault:
        _end_not_run(str(fault))
    except OSError as error:
        _end_not_run(f"cannot listen on {host} port {port}: {error.strerror}; choose others")
    click.echo(as_json(verdicts) if form == "json" else as_text(verdicts))
    if not passed(verdicts):
        raise click.exceptions.Exit(FAILED)


def _tell_contract(context: click.Context, wanted: bool) -> None:
    if wanted:
        click.echo(contract_yaml(), nl=False)
        context.exit()


def _end_not_run(told: str) -> None:
    click.echo(f"Error: {told}", err=True)
    raise click.exceptions.Exit(NOT_RUN)
