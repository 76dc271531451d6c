"""The whole-domain proof and the bit vectors mean what the reference means, by either engine of diagrams."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from importlib import import_module

import pytest
import strategies
import whole_packs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from meanings import assert_same, cell_of
from planted_faults import Planted
from planted_proof_faults import OF_PROOF

from planning.timing.keeping import why_not_kept
from rules.loading import check_files
from rules.proof import diagrams
from rules.proof.diagrams import Diagrams, Variable
from rules.proof.domain import domain_of
from rules.proof.outcomes import outcomes_of
from rules.proof.proving import prove
from rules.proof.sample import sample_of
from rules.proof.space import CellSet

few = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
ENGINES = sorted({diagrams.engine.__name__, "dd.autoref"})


@contextmanager
def drawn_by(name: str) -> Iterator[None]:
    """Diagrams are those of one engine."""
    usual, diagrams.engine = diagrams.engine, import_module(name)
    try:
        yield
    finally:
        diagrams.engine = usual


@few
@given(st.data())
def test_the_whole_domain_agrees_with_the_reference_in_any_cell(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    with drawn_by(data.draw(st.sampled_from(ENGINES))):
        domain = domain_of(pack)
        outcomes = outcomes_of(pack, domain)
        for facts in data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=6)):
            assert_same(outcomes, cell_of(domain, "", facts), whole_packs.decided(pack, facts))


@few
@given(st.data())
def test_the_whole_domain_is_every_cell_that_a_line_item_can_lead_to(data: st.DataObject) -> None:
    pack = data.draw(whole_packs.whole_packs())
    with drawn_by(data.draw(st.sampled_from(ENGINES))):
        domain = domain_of(pack)
        outcomes = outcomes_of(pack, domain)
        seen: dict[CellSet, None] = {}
        for substrate, facts in whole_packs.every_cell(pack):
            cell = cell_of(domain, substrate.symbol, facts)
            assert domain.count(cell) == 1
            if cell not in seen:
                assert_same(outcomes, cell, whole_packs.decided(pack, facts))
            seen[cell] = None
        assert domain.count(domain.admissible) == len(seen)
        assert domain.diagrams.any_of(seen) == domain.admissible


@few
@given(st.data())
def test_bit_vectors_agree_with_the_reference_cell_by_cell(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    listed = data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=20))
    sample = sample_of(pack, listed)
    outcomes = outcomes_of(pack, sample)
    for number, facts in enumerate(listed):
        assert_same(outcomes, sample.only(number), whole_packs.decided(pack, facts))


@pytest.mark.parametrize("planted", OF_PROOF, ids=lambda planted: planted.code)
def test_both_engines_find_the_same_faults_with_the_same_witnesses(planted: Planted) -> None:
    checked = check_files(planted.stack)
    assert checked.pack is not None
    proofs = []
    for name in ENGINES:
        with drawn_by(name):
            proofs.append(prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack)))
    assert proofs[0].faults
    assert proofs[0] == proofs[-1]


@pytest.mark.parametrize("engine", ENGINES)
def test_more_cells_than_floating_point_can_count_are_counted_exactly(engine: str) -> None:
    with drawn_by(engine):
        many = Diagrams([Variable(f"v{each}", 3) for each in range(600)])
        assert many.count(many.well_formed) == 3**600
        assert many.count(many.well_formed & ~many.point({"v0": 1, "v599": 2})) == 3**600 - 3**598
        few = Diagrams([Variable("a", 3), Variable("b", 1), Variable("c", 5)])
        assert few.count(few.well_formed & ~few.point({"a": 2, "c": 4})) == 14
