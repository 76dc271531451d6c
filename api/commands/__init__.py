"""The command line: one program, `stagewright`."""

from __future__ import annotations

import click

from api.commands.audit import audit
from api.commands.demo import demo
from api.commands.estimates import estimates
from api.commands.keys import keys
from api.commands.openapi import openapi
from api.commands.rules import rules
from api.commands.serve import serve
from api.commands.shops import shops


@click.group()
@click.version_option(package_name="stagewright")
def main() -> None:
    """Procedures for repair and refinish of plastic vehicle parts.

    Example: stagewright demo
    """


for command in (serve, demo, rules, estimates, shops, keys, audit, openapi):
    main.add_command(command)
