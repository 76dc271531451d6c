"""The command line: one program, `stagewright`."""

from __future__ import annotations

import click

from api.commands.audit import audit
from api.commands.backup import backup, restore
from api.commands.conformance import conformance
from api.commands.demo import demo
from api.commands.estimates import estimates
from api.commands.keys import keys
from api.commands.links import links
from api.commands.openapi import openapi
from api.commands.problems import problems
from api.commands.retention import retention
from api.commands.rules import rules
from api.commands.serve import serve
from api.commands.shops import shops
from api.commands.webhooks import webhooks
from api.commands.worker import worker


@click.group()
@click.version_option(package_name="stagewright")
def main() -> None:
    """Procedures for repair and refinish of plastic vehicle parts.

    Example: stagewright demo
    """


for command in (
    serve,
    worker,
    demo,
    rules,
    estimates,
    shops,
    keys,
    webhooks,
    links,
    retention,
    audit,
    backup,
    restore,
    openapi,
    problems,
    conformance,
):
    main.add_command(command)
