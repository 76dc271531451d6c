"""`stagewright rules mutate`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from random import Random
from time import monotonic

import click

from api.commands.checking import in_working_order
from api.commands.packs import CHECK_FAILS, end_refused, pack_argument, written
from api.commands.places import shown
from api.commands.progress import tell
from planning.timing.keeping import why_not_kept
from rules.authoring.exercised import exercised
from rules.authoring.mutation.mutants import Mutant, mutants_of
from rules.authoring.mutation.scoring import Judged, Score, by_kind, score_of, survivors
from rules.authoring.mutation.trial import Trial, Verdict
from rules.cases import failures, run_cases
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import Checked, check_folder
from rules.pack import Pack
from rules.proof.proving import prove

SEED = 0
"""Mutants are tried in an order that favours no kind and no file, the same in every run."""


@click.command()
@pack_argument
@click.option(
    "--seconds", type=click.IntRange(min=1), default=600, show_default=True, help="Stop after so long."
)
@click.pass_context
def mutate(context: click.Context, folder: Path, seconds: int) -> None:
    """Change a rule pack in small ways, and tell which changes no case, assertion or proof notices.

    Each mutant is the pack with one condition or effect of one rule changed. One that gives every line
    item the same disposition, stages, parameters and cautions is equivalent and does not count. What
    survives is a place where the pack could be wrong and nobody would be told: add a case for it. Exit
    code 0, 1 when the pack cannot be loaded, 2 when it fails its own cases or its proof.

    Example: stagewright rules mutate my-pack --seconds 60
    """
    checked = check_folder(folder)
    if checked.pack is None or checked.findings:
        end_refused(folder, checked.findings)
    trial = _trial(context, folder, checked, checked.pack)
    mutants = mutants_of(checked.pack)
    judged = _judged(trial, mutants, seconds)
    click.echo("\n".join(_report(folder, judged, len(mutants) - len(judged))))


def _trial(context: click.Context, folder: Path, checked: Checked, pack: Pack) -> Trial:
    """The pack ready to judge its mutants; ends the program when it fails by itself already."""
    decider = Decider(pack, ReferenceEngine(pack))
    kept = partial(why_not_kept, pack)
    failed = failures(pack, run_cases(pack, checked.cases, decider, in_working_order))
    failed = failed or tuple(fault.finding() for fault in prove(pack, checked.assertions, kept).faults)
    if failed:
        click.echo(written(folder, failed, "text"), nl=False, err=True)
        click.echo("mend this first: mutants tell nothing of a pack that fails by itself", err=True)
        context.exit(CHECK_FAILS)
    return Trial(pack, exercised(pack, checked.cases, decider), checked.assertions, in_working_order, kept)


def _judged(trial: Trial, mutants: Sequence[Mutant], seconds: int) -> Judged:
    """What became of the mutants that could be tried in time."""
    deadline_s = monotonic() + seconds
    judged: list[tuple[Mutant, Verdict]] = []
    for mutant in Random(SEED).sample(mutants, len(mutants)):
        if monotonic() > deadline_s:
            break
        judged.append((mutant, trial.verdict(mutant)))
        tell(f"{len(judged)} of {len(mutants)} mutants")
    tell("")
    return judged


def _report(folder: Path, judged: Judged, untried: int) -> Iterator[str]:
    yield f"{'':36}{'killed':>8}{'survived':>10}{'equivalent':>12}{'score':>9}"
    for kind, score in by_kind(judged).items():
        yield _line(kind.value, score)
    whole = score_of(verdict for _, verdict in judged)
    yield _line("all", whole)
    yield (
        f"killed by cases {whole.by_cases}, by assertions {whole.by_assertions}, "
        f"by the rest of the proof {whole.by_proof}"
    )
    if untried:
        yield f"{untried} more were not tried in the time given; those tried were drawn from all alike"
    if whole.survived:
        yield "survived:"
    for mutant in survivors(judged):
        yield f"  {shown(folder, mutant.place)} {mutant.rule.id}: {mutant.told}"


def _line(name: str, score: Score) -> str:
    numbers = f"{score.killed:>8}{score.survived:>10}{score.equivalent:>12}"
    return f"{name:36}{numbers}{score.percentage:>7.1f} %"
