"""How long a proof of the base pack takes, and what plain evaluation over listed cells would."""

from __future__ import annotations

import time
from functools import partial

import numpy as np

from bench.printing import heading, table
from bench.synthetic import synthetic_files
from planning.timing.keeping import why_not_kept
from rules.loading import BASE_PACK, check_files, check_folder
from rules.pack import Pack
from rules.proof.outcomes import outcomes_of
from rules.proof.proving import prove
from rules.proof.sample import Sample
from rules.vocabulary import Origin

RULES = (150, 500, 1_500)
CELLS = (50_000, 500_000, 2_000_000)
SLAB = 250_000
"""So many cells are held at once."""

SEED = 20417


def measure() -> None:
    """Prints the tables."""
    _whole_domain()
    _listed_cells()


def _whole_domain() -> None:
    checked = check_folder(BASE_PACK)
    if checked.pack is None:
        raise RuntimeError("the base pack cannot be loaded")
    begun = time.perf_counter()
    proof = prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack))
    seconds = time.perf_counter() - begun
    heading("Proof: the base pack over every admissible cell, by decision diagrams")
    found = f"{len(proof.faults)} faults" if proof.faults else "proven"
    held = f"{proof.rules} rules and {proof.assertions} assertions over {proof.cells:,} cells"
    print(f"{found}: {held} in {seconds:.2f} s")


def _listed_cells() -> None:
    rows = []
    for rules in RULES:
        files = synthetic_files(rules)
        begun = time.perf_counter()
        checked = check_files([files])
        check_s = time.perf_counter() - begun
        if checked.pack is None:
            raise RuntimeError(f"the synthetic pack cannot be loaded: {checked.findings[0]}")
        found = ", ".join(sorted({finding.code for finding in checked.findings})) or "clean"
        for cells in CELLS:
            seconds = _evaluation_s(checked.pack, cells)
            rate = rules * cells / seconds / 1e6
            rows.append(
                (f"{rules:,}", f"{cells:,}", f"{seconds:.2f}", f"{rate:,.0f}", f"{check_s:.2f}", found)
            )
    heading("Plain evaluation of synthetic packs, eight cells a byte")
    print("Every rule of three layers in every one of so many cells, taken by chance from the domain.\n")
    table(
        ("rules", "cells", "seconds", "million rule cells in a second", "rules check, seconds", "it finds"),
        rows,
    )


def _evaluation_s(pack: Pack, cells: int) -> float:
    """Seconds to find where each rule fires; drawing the cells is not counted."""
    random = np.random.default_rng(SEED)
    seconds = 0.0
    for begin in range(0, cells, SLAB):
        sample = _sample(pack, min(SLAB, cells - begin), random)
        begun = time.perf_counter()
        outcomes_of(pack, sample)
        seconds += time.perf_counter() - begun
    return seconds


def _sample(pack: Pack, size: int, random: np.random.Generator) -> Sample:
    facts = {fact.name: fact for fact in pack.vocabulary if fact.origin is not Origin.RULES}
    cells = {
        name: random.integers(len(fact.domain), size=size, dtype=np.intp) for name, fact in facts.items()
    }
    return Sample(facts, cells, size)
