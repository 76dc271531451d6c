"""`stagewright estimates`: what finished jobs have taught, and what an admin does about it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, datetime

import click

from api.actual_documents import as_csv, as_json_lines, estimates_document
from api.commands.stores import ORIGIN, database_option, opened
from api.packs.reading import kept_pack
from rules.pack import Pack
from storage.estimates import Estimates
from storage.sandboxes import real_shop
from storage.shops import LOCAL
from storage.store import Store

COLUMNS = ("stage", "jobs", "set aside", "factor", "p50", "p80", "p95", "")


@click.group()
def estimates() -> None:
    """What the finished jobs of a shop say about how long its stages take.

    Example: stagewright estimates list
    """


def _at_store(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say whose estimates are meant."""
    shop = click.option("--shop", default=LOCAL, show_default=True, help="The shop.")
    return database_option(shop(command))


def _of_stages(command: Callable[..., None]) -> Callable[..., None]:
    """The stages of a shop that are meant."""
    return click.argument("stages", metavar="STAGE...", nargs=-1, required=True)(_at_store(command))


@estimates.command("list")
@_at_store
def list_(database: str, shop: str) -> None:
    """Show what was learned of each stage.

    `factor` is the shop's median as a multiple of the catalogue's; p50, p80 and p95 are what that share of
    jobs stays under, as multiples of the catalogue's median.

    Example: stagewright estimates list --database sqlite:///stagewright.sqlite3
    """
    with opened(database, shop=shop) as store:
        document = estimates_document(store, shop, _pack(store, shop))
    rows = [COLUMNS]
    for each in document["items"]:
        figures = (each["factor"], *each["quantile_factors"].values())
        shown = (f"{figure:.2f}" for figure in figures)
        mark = "frozen" if each["frozen"] else ""
        rows.append((each["stage"], str(each["jobs"]), str(each["set_aside"]), *shown, mark))
    widths = [max(len(row[number]) for row in rows) for number in range(len(COLUMNS))]
    for first, *others in rows:
        right = (cell.rjust(width) for cell, width in zip(others, widths[1:], strict=True))
        click.echo("  ".join((first.ljust(widths[0]), *right)).rstrip())
    click.echo(f"Over all the shop takes {document['shop_factor']:.2f} times what the catalogue says.")


@estimates.command()
@_of_stages
def freeze(stages: tuple[str, ...], database: str, shop: str) -> None:
    """Hold the estimates of stages as they are. Later reports are kept and do not move them.

    Example: stagewright estimates freeze groove fill
    """
    _change(Estimates.freeze, "frozen", stages, database, shop)


@estimates.command()
@_of_stages
def unfreeze(stages: tuple[str, ...], database: str, shop: str) -> None:
    """Let reports move the estimates of stages again, those that came meanwhile too.

    Example: stagewright estimates unfreeze groove fill
    """
    _change(Estimates.unfreeze, "moved by reports", stages, database, shop)


@estimates.command()
@_of_stages
def reset(stages: tuple[str, ...], database: str, shop: str) -> None:
    """Begin the estimates of stages anew from the catalogue. Reports so far are kept, and count no more.

    This cannot be taken back.

    Example: stagewright estimates reset groove
    """
    _change(Estimates.reset, "begun anew", stages, database, shop)


@estimates.command()
@click.option(
    "--format",
    "form",
    type=click.Choice(["csv", "jsonl"]),
    default="csv",
    show_default=True,
    help="A table, or one JSON object a line.",
)
@_at_store
def export(form: str, database: str, shop: str) -> None:
    """Write every report of a shop to standard output, also those nothing is learned from.

    Example: stagewright estimates export --format jsonl > actuals.jsonl
    """
    write = as_csv if form == "csv" else as_json_lines
    with opened(database, shop=shop) as store:
        for line in write(store.actuals.of_shop(shop)):
            sys.stdout.write(line)


def _change(
    change: Callable[[Estimates, str, str, str], None],
    told: str,
    stages: tuple[str, ...],
    database: str,
    shop: str,
) -> None:
    """Change the estimate of every stage, or of none where the catalogue lacks one of them."""
    with opened(database, shop=shop) as store:
        for stage in _known(store, shop, stages):
            change(store.estimates, shop, stage, ORIGIN)
            click.echo(f"{stage}: {told}")


def _pack(store: Store, shop: str) -> Pack:
    """The rule pack that a shop works by; ends the program where there is none."""
    in_force = store.activations.in_force(real_shop(shop), datetime.now(UTC))
    pack = None if in_force is None else kept_pack(store, in_force.digest)
    if pack is None:
        raise click.ClickException("no rule pack is in force in this database; start the service once")
    return pack


def _known(store: Store, shop: str, stages: tuple[str, ...]) -> tuple[str, ...]:
    """The same stages; ends the program, before anything was done, where the catalogue lacks one."""
    catalogue = _pack(store, shop).stages
    for stage in stages:
        if stage not in catalogue:
            raise click.ClickException(f"the catalogue has no stage '{stage}'; see GET /v1/stages")
    return stages
