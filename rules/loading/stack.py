"""The whole way from a stack of packs to one `Pack`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from rules.checks import check_pack
from rules.findings import in_order
from rules.layers import CircularRules, layered
from rules.loading.bounds import within_bounds
from rules.loading.building import Built, build
from rules.loading.checked import Checked, PackRefused
from rules.loading.folder import read_folder
from rules.loading.header import name_and_extends
from rules.loading.report import Report, TooManyFindings
from rules.loading.sections import HEADER_FILE, source_of
from rules.pack import Pack
from rules.places import Place

Files = Mapping[str, str]

BASE_PACK = Path(__file__).parent.parent / "packs" / "base"
"""The pack that comes with the service."""


def check_folder(folder: Path) -> Checked:
    """The pack in a folder; one that says `extends: base` is laid on the pack of the service."""
    try:
        files = read_folder(folder)
        _, extends = name_and_extends(files.get(HEADER_FILE, ""))
        return check_files([read_folder(BASE_PACK), files] if extends == "base" else [files])
    except PackRefused as refused:
        return Checked(None, refused.findings)


def check_files(stack: Sequence[Files]) -> Checked:
    """The pack that the texts of a stack make, lowest pack first, and everything wrong with it."""
    report = Report()
    try:
        built = _read(stack, report)
    except TooManyFindings:
        built = Built()
    pack = built.pack
    if pack is None:
        return Checked(None, in_order(report.findings))
    layered_pack = _layered(pack)
    findings = in_order(check_pack(layered_pack or pack))
    if any(found.stops_loading for found in findings):
        return Checked(None, findings)
    return Checked(layered_pack, findings, built.cases, built.assertions)


def load_folder(folder: Path) -> Pack:
    """The pack in a folder. Raises PackRefused when anything is wrong."""
    return _without_findings(check_folder(folder))


def load_files(stack: Sequence[Files]) -> Pack:
    """The pack of a stack of texts, lowest pack first. Raises PackRefused when anything is wrong."""
    return _without_findings(check_files(stack))


def _without_findings(checked: Checked) -> Pack:
    if checked.pack is None or checked.findings:
        raise PackRefused(checked.findings)
    return checked.pack


def _read(stack: Sequence[Files], report: Report) -> Built:
    if not stack:
        report.add("R001", Place("", 1, 1), "there is no pack to check; name a folder that holds pack.yaml")
    for files in stack:
        if within_bounds(files, report) and HEADER_FILE not in files:
            told = f"there is no {HEADER_FILE}; add it, it says which pack this is"
            report.add("R001", Place(HEADER_FILE, 1, 1), told)
    if report.findings:
        return Built()
    names = [name_and_extends(files[HEADER_FILE])[0] for files in stack]
    sources = [source_of(files, name, report) for files, name in zip(stack, names, strict=True)]
    return Built() if report.incomplete else build(sources, stack, report)


def _layered(pack: Pack) -> Pack | None:
    """None where rules read what they conclude; the checks name the circle."""
    try:
        return replace(pack, layers=layered(pack.rules))
    except CircularRules:
        return None
