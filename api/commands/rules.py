"""`stagewright rules`: what an admin does with rule packs."""

from __future__ import annotations

import click

from api.commands.checking import check, test
from api.commands.describing import code, facts
from api.commands.explaining import explain
from api.commands.proving import prove_pack


@click.group()
def rules() -> None:
    """Check, test, prove and explain rule packs. PACK is a folder; left out, it is the base pack.

    Example: stagewright rules check my-pack
    """


for command in (check, test, prove_pack, explain, facts, code):
    rules.add_command(command)
