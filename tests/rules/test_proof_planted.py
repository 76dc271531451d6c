"""Every code of the proof has a fault planted for it, which is found; what is sound is proven."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path

import planted_faults
import pytest
from planted_faults import Planted
from planted_proof_faults import COME_ALONG, OF_PROOF
from tiny_pack import SMALL

from planning.timing.keeping import why_not_kept
from rules.codes import CODES
from rules.loading import BASE_PACK, Checked, check_files, check_folder
from rules.proof.proving import Proof, prove

WITH_WITNESS = {"R601", "R602", "R603", "R608", "R609", "R610"}


def proof_of(checked: Checked) -> Proof:
    assert checked.pack is not None
    assert checked.findings == ()
    return prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack))


@pytest.mark.parametrize("planted", OF_PROOF, ids=lambda planted: planted.code)
def test_a_planted_fault_is_found_at_its_place_with_its_fix(planted: Planted) -> None:
    faults = proof_of(check_files(planted.stack)).faults
    assert {fault.code for fault in faults} == {planted.code} | COME_ALONG.get(planted.code, set())
    fault = next(fault for fault in faults if fault.code == planted.code)
    place = fault.finding().place
    assert (place.file, place.line, place.column) == planted.position
    assert planted.says in fault.message
    assert CODES[planted.code].mend
    assert (fault.witness is not None, fault.cells > 0) == (planted.code in WITH_WITNESS,) * 2


@pytest.mark.parametrize("planted", OF_PROOF, ids=lambda planted: planted.code)
def test_the_good_example_in_its_place_is_proven(planted: Planted, monkeypatch: pytest.MonkeyPatch) -> None:
    mended = replace(CODES[planted.code], example=CODES[planted.code].good)
    monkeypatch.setattr(planted_faults, "CODES", {planted.code: mended})
    assert proof_of(check_files(planted.stack)).faults == ()


def test_every_code_of_the_proof_has_a_fault_planted_for_it() -> None:
    assert {planted.code for planted in OF_PROOF} == {code for code in CODES if code.startswith("R6")}


def test_the_small_pack_is_proven() -> None:
    assert proof_of(check_files([SMALL])).faults == ()


@pytest.mark.parametrize(
    "folder", [BASE_PACK, BASE_PACK.parent / "example-overlay"], ids=lambda folder: folder.name
)
def test_the_packs_of_the_service_are_proven(folder: Path) -> None:
    proof = proof_of(check_folder(folder))
    assert proof.faults == ()
    assert proof.assertions >= 30
    assert proof.cells > 10**10
