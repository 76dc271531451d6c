"""`stagewright rules check` and `stagewright rules test`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from api.commands.covering import coverage_lines
from api.commands.packs import CHECK_FAILS, decider_of, exit_code, pack_argument, pack_in, written
from planning.order import ordered
from rules.authoring.exercised import exercised
from rules.cases import failures, run_cases, unexercised
from rules.loading import check_folder
from rules.pack import Pack


@click.command()
@pack_argument
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "ci"]),
    default="text",
    show_default=True,
    help="ci: annotations that a build server shows beside the line.",
)
@click.pass_context
def check(context: click.Context, folder: Path, form: str) -> None:
    """Tell what is wrong with a rule pack, with file, line and column.

    Says nothing when nothing is wrong (an empty list in JSON). Exit code 0 when clean, 1 when the
    pack cannot be loaded, 2 when a check fails.

    Example: stagewright rules check rules/packs/example-overlay
    """
    findings = check_folder(folder).findings
    click.echo(written(folder, findings, form), nl=False)
    context.exit(exit_code(findings))


@click.command()
@pack_argument
@click.option(
    "--coverage", "wants_coverage", is_flag=True, help="Name the conditions that no case shows to matter."
)
@click.pass_context
def test(context: click.Context, folder: Path, wants_coverage: bool) -> None:
    """Run the cases of a rule pack, and name the rules that no case exercises.

    With --coverage, also every single condition that no case shows true, or false, while it decides
    alone whether its rule fires: all else being as it is, the rule fires with it and not without it.

    Exit code 0 when every case passes, 1 when the pack cannot be loaded, 2 when a check or a case
    fails or there is no case.

    Example: stagewright rules test rules/packs/example-overlay
    """
    pack, cases = pack_in(folder)
    decider = decider_of(pack)
    results = run_cases(pack, cases, decider, in_working_order)
    failed = failures(pack, results)
    click.echo(written(folder, failed, "text"), nl=False)
    passed = sum(not result.findings for result in results)
    click.echo(f"{passed} of {len(results)} cases pass")
    idle = unexercised(pack, results)
    if idle:
        click.echo(f"{len(idle)} rules that no case exercises:")
        click.echo("".join(f"  {rule}\n" for rule in idle), nl=False)
    if wants_coverage and not failed:
        click.echo("\n".join(coverage_lines(folder, pack, exercised(pack, cases, decider))))
    context.exit(CHECK_FAILS if failed else 0)


def in_working_order(pack: Pack, stages: Iterable[str]) -> tuple[str, ...]:
    """The stages of a decision in the order in which they are done."""
    return ordered(pack.stages, stages, pack.phases)
