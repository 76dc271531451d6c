"""Every code has a fault planted for it, which is found where it is, with its fix; a sound pack has none."""

from __future__ import annotations

from pathlib import Path

import pytest
from planted_faults import OF_CASES, OF_FILES, OF_OVERLAYS, OF_PACKS, OF_REFERENCES, OF_THINGS, Planted
from planted_packs import IN_ENGINES, IN_FOLDERS, PlantedInEngine, PlantedInFolder
from tiny_pack import SMALL, written

from planning.order import ordered
from rules.cases import failures, run_cases
from rules.codes import CODES
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.findings import Finding
from rules.loading import check_files, check_folder

WHEN_CHECKED = (*OF_FILES, *OF_THINGS, *OF_REFERENCES, *OF_OVERLAYS, *OF_PACKS)


def findings_of(stack) -> tuple[Finding, ...]:
    """What checking finds and, where it finds nothing, what the cases find."""
    checked = check_files(stack)
    if checked.findings:
        return checked.findings
    pack = checked.pack
    decider = Decider(pack, ReferenceEngine(pack))
    order = lambda pack, stages: ordered(pack.stages, stages, pack.phases)  # noqa: E731
    return failures(pack, run_cases(pack, checked.cases, decider, order))


@pytest.mark.parametrize("planted", [*WHEN_CHECKED, *OF_CASES], ids=lambda planted: planted.code)
def test_a_planted_fault_alone_is_found_at_its_place_with_its_fix(planted: Planted):
    (found,) = findings_of(planted.stack)
    place = found.place
    assert (found.code, place.file, place.line, place.column) == (planted.code, *planted.position)
    assert planted.says in found.message


@pytest.mark.parametrize("planted", IN_FOLDERS, ids=lambda planted: planted.code)
def test_a_fault_of_a_folder_is_found(planted: PlantedInFolder, tmp_path: Path):
    folder = written(SMALL, tmp_path / "pack")
    planted.plant(folder)
    found = check_folder(folder).findings[-1]
    assert (found.code, found.place.file, found.place.line, found.place.column) == (
        planted.code,
        *planted.position,
    )
    assert planted.says in found.message


@pytest.mark.parametrize("planted", IN_ENGINES, ids=lambda planted: planted.code)
def test_a_pack_beyond_the_engine_is_found(planted: PlantedInEngine):
    found = {found.code: found for found in check_files([planted.files]).findings}[planted.code]
    assert (found.place.file, found.place.line, found.place.column) == planted.position
    assert planted.says in found.message


def test_the_sound_pack_has_no_findings():
    assert findings_of([SMALL]) == ()


def test_every_code_has_a_fault_planted_for_it():
    planted = {each.code for each in (*WHEN_CHECKED, *OF_CASES, *IN_FOLDERS, *IN_ENGINES)}
    # R5.. and R6.. are told by the tables for identification and by the proof, and tested with these.
    assert planted == {code for code in CODES if code[:2] not in ("R5", "R6")}
