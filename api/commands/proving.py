"""`stagewright rules prove`."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

import click

from api.commands.packs import CHECK_FAILS, CLEAN, checked_in, pack_argument, written
from api.commands.progress import tell
from planning.timing.keeping import why_not_kept
from rules.findings import in_order
from rules.pack import Pack
from rules.proof.fault import Fault
from rules.proof.proving import Proof, prove
from rules.proof.witness import line_item_of


@click.command(name="prove")
@pack_argument
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "ci"]), default="text", show_default=True
)
@click.pass_context
def prove_pack(context: click.Context, folder: Path, form: str) -> None:
    """Prove a rule pack over every admissible combination of facts.

    Names each fault with the rules concerned, how many cells are at fault, and an example; in JSON
    the example is a line item that can be posted to the service. Exit code 0 when proven, 1 when the
    pack cannot be loaded, 2 when a check or the proof fails.

    Example: stagewright rules prove rules/packs/example-overlay
    """
    checked = checked_in(folder)
    pack = checked.pack
    started_s = perf_counter()
    proof = prove(pack, checked.assertions, partial(why_not_kept, pack), tell)
    tell("")
    if form == "json":
        click.echo(json.dumps(_document(pack, proof), ensure_ascii=False, indent=2))
    else:
        click.echo(written(folder, in_order(fault.finding() for fault in proof.faults), form), nl=False)
    if form == "text":
        click.echo(_summary(proof, perf_counter() - started_s))
    context.exit(CHECK_FAILS if proof.faults else CLEAN)


def _summary(proof: Proof, elapsed_s: float) -> str:
    count = len(proof.faults)
    found = f"{count} fault{'' if count == 1 else 's'}" if count else "proven"
    return (
        f"{found}: {proof.rules} rules and {proof.assertions} assertions over {proof.cells:,} cells "
        f"in {elapsed_s:.2f} s"
    )


def _document(pack: Pack, proof: Proof) -> dict[str, Any]:
    return {
        "digest": proof.digest,
        "cells": proof.cells,
        "rules": proof.rules,
        "assertions": proof.assertions,
        "faults": [_fault(pack, fault) for fault in proof.faults],
    }


def _fault(pack: Pack, fault: Fault) -> dict[str, Any]:
    witness = fault.witness
    return {
        "code": fault.code,
        "message": fault.message,
        "places": [f"{place.pack}:{place}" for place in fault.places],
        "cells": fault.cells,
        "witness": witness and witness.in_words(),
        "line_item": witness and line_item_of(witness, pack.vocabulary.facts),
    }
