"""What the commands on rule packs share: reading a pack, and telling what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import click

from rules.assertions.model import Assertion
from rules.cases import Case
from rules.decider import Decider
from rules.engines.choose import engine_for
from rules.engines.limits import EngineLimit
from rules.findings import Finding, as_annotations, as_json, as_text
from rules.loading import BASE_PACK, check_folder
from rules.loading.header import name_and_extends
from rules.pack import Pack

CLEAN, CANNOT_LOAD, CHECK_FAILS = 0, 1, 2


@dataclass(frozen=True)
class Sound:
    """A pack without findings, its own cases and all assertions it must fulfil."""

    pack: Pack
    cases: Sequence[Case]
    assertions: Sequence[Assertion]


pack_argument = click.argument("folder", metavar="[PACK]", type=click.Path(path_type=Path), default=BASE_PACK)
"""The folder of a pack; the base pack when it is left out."""


def pack_in(folder: Path) -> tuple[Pack, Sequence[Case]]:
    """The pack in a folder with the cases of its own; ends the program when anything is wrong with it."""
    checked = checked_in(folder)
    return checked.pack, checked.cases


def checked_in(folder: Path) -> Sound:
    """Everything a sound pack holds; ends the program when anything is wrong with it."""
    checked = check_folder(folder)
    if checked.pack is None or checked.findings:
        end_refused(folder, checked.findings)
    return Sound(checked.pack, checked.cases, checked.assertions)


def decider_of(pack: Pack) -> Decider:
    """Decides by the engine that would serve the pack."""
    try:
        return Decider(pack, engine_for(pack))
    except EngineLimit as limit:
        raise click.ClickException(f"the pack '{pack.name}' cannot be evaluated: {limit}") from limit


def end_refused(folder: Path, findings: Sequence[Finding]) -> NoReturn:
    """Tell what is wrong with a pack and end the program."""
    click.echo(written(folder, findings, "text"), nl=False, err=True)
    raise SystemExit(exit_code(findings))


def exit_code(findings: Iterable[Finding]) -> int:
    """0 clean, 1 no pack can be built, 2 a check or case fails."""
    codes = (CANNOT_LOAD if found.stops_loading else CHECK_FAILS for found in findings)
    return min(codes, default=CLEAN)


def written(folder: Path, findings: Sequence[Finding], form: str) -> str:
    """The findings on the pack in `folder` as `text`, `json` or `ci` annotations."""
    if form == "json":
        return as_json(findings)
    write: Callable[[Iterable[Finding], str], str] = as_annotations if form == "ci" else as_text
    return "".join(write([found], root_of(folder, found)) for found in findings)


def root_of(folder: Path, found: Finding) -> str:
    """What to set before a finding's file, so that an editor opens it."""
    file = found.place.file
    if not (folder / file).exists() and Path(file).is_relative_to(folder):
        return ""  # the folder itself is at fault
    beneath = found.place.pack == BASE_PACK.name and _is_overlay(folder)
    return f"{BASE_PACK if beneath else folder}/"


def _is_overlay(folder: Path) -> bool:
    try:
        return name_and_extends((folder / "pack.yaml").read_text(encoding="utf-8"))[1] is not None
    except (OSError, UnicodeDecodeError):
        return False
