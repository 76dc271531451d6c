"""Holds the meanings of the base pack against each other, cell by cell.

    python tests/rules/base_pack_meanings.py [--cells 20000] [--outcomes 0] [--seed 1]

draws so many random cells, and takes one cell of each of so many distinct outcomes (0: of all there
are); in each of them the rules engine, bit vectors and diagrams must say what the reference says. An
outcome is a disposition with a set of stages: which settings, cautions and rules come with it is not
told apart, for these combine to more outcomes than can be listed.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.append(str(Path(__file__).parents[2]))

from meanings import assert_same, cell_of

from rules.conditions import Value
from rules.decider import Decider
from rules.engines.choose import engine_for
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.loading import BASE_PACK, load_folder
from rules.pack import Disposition, Pack
from rules.predicates import holds
from rules.proof.diagrams import Diagram
from rules.proof.domain import Domain, domain_of
from rules.proof.outcomes import DISPOSITION, Outcomes, outcomes_of
from rules.proof.sample import sample_of
from rules.proof.witness import witness_of
from rules.vocabulary import Fact, Kind, Origin

Facts = Mapping[str, Value]
Cell = tuple[str, Facts]
"""A material, and complete facts."""


def random_cells(pack: Pack, count: int, random: Random) -> Iterator[Cell]:
    """Every cell of a fact as likely as another; numbers on its lower bound as often as inside."""
    declared = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    ordered = sorted(declared, key=lambda fact: fact.applies_when is not None)
    for _ in range(count):
        substrate = random.choice(sorted(pack.substrates.values(), key=lambda row: row.symbol))
        facts = dict(substrate.properties)
        for fact in ordered:
            applies = fact.applies_when is None or holds(fact.applies_when, facts)
            facts[fact.name] = _value(fact, random) if applies else fact.otherwise  # type: ignore[assignment]
        yield substrate.symbol, facts


def _value(fact: Fact, random: Random) -> Value:
    if fact.kind is not Kind.NUMBER:
        return random.choice(tuple(fact.values) or (False, True))
    edges = (fact.minimum, *fact.cut_points, fact.maximum)
    cell = random.randrange(len(edges) - 1)
    return random.choice((edges[cell], (edges[cell] + edges[cell + 1]) / 2))


def outcome_cells(pack: Pack, outcomes: Outcomes, domain: Domain) -> Iterator[Cell]:
    """One cell of every disposition with every set of stages there is."""
    for each in Disposition:
        for where in _split(outcomes, domain, outcomes.claimed(DISPOSITION, each), list(pack.stages)):
            witness = witness_of(domain, where)
            substrate = pack.substrates[witness.material]
            yield substrate.symbol, complete(pack, substrate, witness.facts).values


def _split(outcomes: Outcomes, domain: Domain, where: Diagram, stages: Sequence[str]) -> Iterator[Diagram]:
    """The parts of `where` in each of which every stage is present everywhere or nowhere."""
    waiting = [(where, 0)]
    present = [outcomes.present(stage) for stage in stages]
    while waiting:
        region, number = waiting.pop()
        if number == len(stages):
            yield region
            continue
        parts = (region & present[number], region & ~present[number])
        waiting += [(part, number + 1) for part in parts if domain.any(part)]


def hold(pack: Pack, cells: Sequence[Cell], outcomes: Outcomes, domain: Domain) -> None:
    """Raises AssertionError where one meaning differs from the reference."""
    engine = engine_for(pack)
    reference, adapter = Decider(pack, ReferenceEngine(pack)), Decider(pack, engine)
    sample = sample_of(pack, [facts for _, facts in cells])
    vectors = outcomes_of(pack, sample)
    for number, (material, facts) in enumerate(cells):
        decision = reference.decide(facts)
        assert adapter.decide(facts) == decision, (engine.name, material, facts)
        assert_same(vectors, sample.only(number), decision)
        assert_same(outcomes, cell_of(domain, material, facts), decision)
    engine.close()


def main() -> None:
    """Draw the cells and hold the meanings against each other; says what was held."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--cells", type=int, default=20_000)
    parser.add_argument("--outcomes", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    pack = load_folder(BASE_PACK)
    domain = domain_of(pack)
    outcomes = outcomes_of(pack, domain)
    listed = list(islice(outcome_cells(pack, outcomes, domain), wanted.outcomes or None))
    drawn = list(random_cells(pack, wanted.cells, Random(wanted.seed)))
    for cells in (drawn, listed):
        for start in range(0, len(cells), 1000):
            hold(pack, cells[start : start + 1000], outcomes, domain)
    print(f"{engine_for(pack).name}, bit vectors and diagrams agree with the reference: ", end="")
    print(f"{len(drawn)} random cells, one cell of each of {len(listed)} outcomes")


if __name__ == "__main__":
    main()
