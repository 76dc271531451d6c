"""`stagewright rules`: what an admin does with rule packs."""

from __future__ import annotations

import click

from api.commands.checking import check, test
from api.commands.comparing import diff
from api.commands.describing import code, facts
from api.commands.explaining import explain
from api.commands.formatting import fmt
from api.commands.mutating import mutate
from api.commands.proving import prove_pack
from api.commands.quoting import quote
from api.commands.scaffolding import new_rule
from api.commands.schemas import schemas
from api.commands.tabulating import table


@click.group()
def rules() -> None:
    """Check, test, prove and explain rule packs. PACK is a folder; left out, it is the base pack.

    Example: stagewright rules check my-pack
    """


AUTHORING = (fmt, diff, new_rule, mutate, schemas, table, quote)

for command in (check, test, prove_pack, explain, facts, code, *AUTHORING):
    rules.add_command(command)
