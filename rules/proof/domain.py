"""The admissible fact domain of a pack, as variables of decision diagrams.

One variable stands for the substrate: its cells are the distinct rows of the property table. Every
line-item fact that a rule may read is another; the rest have no say in a decision and keep their
defaults. A fact that does not apply has its `otherwise` value, so other combinations are no cells.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from rules.conditions import Test, Value, facts_read
from rules.pack import Pack
from rules.predicates import test_holds
from rules.proof.diagrams import Diagram, Diagrams, Variable
from rules.proof.space import where_holds
from rules.vocabulary import Fact, Origin

SUBSTRATE = "substrate"


@dataclass(frozen=True)
class Row:
    """A distinct row of the property table and the materials that share it."""

    symbols: tuple[str, ...]
    values: Mapping[str, Value]


@dataclass(frozen=True)
class Domain:
    """The variables and the diagram of the admissible cells.

    `facts` are the line-item facts with a variable; `rows` stand in cell order of the substrate.
    """

    diagrams: Diagrams
    facts: Mapping[str, Fact]
    rows: tuple[Row, ...]
    admissible: Diagram

    @property
    def empty(self) -> Diagram:
        """No cell."""
        return self.diagrams.false

    def count(self, where: Diagram) -> int:
        """How many admissible cells lie in `where`."""
        return self.diagrams.count(where & self.admissible)

    def test(self, test: Test) -> Diagram:
        """The cells in which a test of a line-item or substrate fact holds."""
        values: Iterable[Value]
        if test.fact in self.facts:
            variable, values = test.fact, self.facts[test.fact].domain
        else:
            variable, values = SUBSTRATE, (row.values[test.fact] for row in self.rows)
        return self.diagrams.cells(
            variable, (cell for cell, value in enumerate(values) if test_holds(test, value))
        )


def domain_of(pack: Pack) -> Domain:
    """The domain of `pack`: the facts that rules read, restricted by every `applies_when`."""
    facts = _relevant_facts(pack)
    rows = _distinct_rows(pack)
    variables = [Variable(name, len(fact.domain)) for name, fact in facts.items()]
    diagrams = Diagrams([Variable(SUBSTRATE, len(rows)), *variables])

    domain = Domain(diagrams, facts, rows, diagrams.well_formed)
    for fact in facts.values():
        domain = replace(domain, admissible=domain.admissible & _statable(domain, fact))
    return domain


def _statable(domain: Domain, fact: Fact) -> Diagram:
    """Where the fact applies it has a value that a line item can state, elsewhere `otherwise`."""
    if fact.applies_when is None or fact.otherwise is None:
        return domain.diagrams.true
    applies = where_holds(domain, fact.applies_when, domain.test)
    otherwise = domain.diagrams.cells(fact.name, [fact.cell_of(fact.otherwise)])
    if isinstance(fact.otherwise, str) and fact.otherwise not in fact.values:
        return (applies & ~otherwise) | (~applies & otherwise)
    return applies | otherwise


def _relevant_facts(pack: Pack) -> dict[str, Fact]:
    """Line-item facts that a rule reads, or that say whether such a fact applies."""
    read = {name for rule in pack.rules.values() for name in facts_read(rule.when)}
    conditions = [pack.vocabulary[name].applies_when for name in read]
    read |= {name for condition in conditions if condition for name in facts_read(condition)}
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    return {fact.name: fact for fact in facts if fact.name in read}


def _distinct_rows(pack: Pack) -> tuple[Row, ...]:
    """Materials grouped by what the rules can tell of them: the cells of the property facts."""
    properties = pack.vocabulary.from_origin(Origin.SUBSTRATE)
    rows: dict[tuple[int, ...], Row] = {}
    for symbol, substrate in pack.substrates.items():
        key = tuple(fact.cell_of(substrate.properties[fact.name]) for fact in properties)
        known = rows.get(key, Row((), substrate.properties))
        rows[key] = replace(known, symbols=(*known.symbols, symbol))
    return tuple(rows.values()) or (Row((), {}),)
