"""The admissible fact domain of a pack, as variables of decision diagrams.

One variable stands for the substrate: its cells are the distinct rows of the property table. Every
fact of a line item is another. A fact that does not apply has its `otherwise` value, so other
combinations are no cells.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from rules.bearing import facts_of_work_alone
from rules.conditions import Test, Value
from rules.pack import Pack, Substrate
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

    `facts` are the facts of a line item; `rows` stand in cell order of the substrate.
    """

    diagrams: Diagrams
    facts: Mapping[str, Fact]
    rows: tuple[Row, ...]
    admissible: Diagram

    @property
    def empty(self) -> Diagram:
        """No cell."""
        return self.diagrams.false

    def any(self, where: Diagram) -> bool:
        """Whether an admissible cell lies in `where`."""
        return bool(where & self.admissible != self.diagrams.false)

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

    def of_materials(self, fact: str, value: Value) -> Diagram:
        """The cells of the materials of which a substrate fact has exactly this value."""
        rows = (cell for cell, row in enumerate(self.rows) if row.values[fact] == value)
        return self.diagrams.cells(SUBSTRATE, rows)


def domain_of(pack: Pack, asked: Collection[str] = ()) -> Domain:
    """The domain of `pack`: the facts of a line item that decisions depend on, each where it applies.

    Facts that only make work harder are left out, but for those in `asked`, which are told apart.
    """
    aside = facts_of_work_alone(pack).difference(asked)
    stated = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    facts = {fact.name: fact for fact in stated if fact.name not in aside}
    rows = _distinct_rows(pack)
    variables = [Variable(name, len(fact.domain)) for name, fact in facts.items()]
    diagrams = Diagrams([Variable(SUBSTRATE, len(rows)), *variables])
    domain = Domain(diagrams, facts, rows, diagrams.well_formed)
    statable = diagrams.all_of(_statable(domain, fact) for fact in facts.values())
    return replace(domain, admissible=domain.admissible & statable)


def _statable(domain: Domain, fact: Fact) -> Diagram:
    """Where the fact applies it has a value that a line item can state, elsewhere `otherwise`."""
    if fact.applies_when is None or fact.otherwise is None:
        return domain.diagrams.true
    applies = where_holds(domain, fact.applies_when, domain.test)
    otherwise = domain.diagrams.cells(fact.name, [fact.cell_of(fact.otherwise)])
    if isinstance(fact.otherwise, str) and fact.otherwise not in fact.values:
        return (applies & ~otherwise) | (~applies & otherwise)
    return applies | otherwise


def _distinct_rows(pack: Pack) -> tuple[Row, ...]:
    """Materials grouped by what the rules can tell of them, and by what they fix of any stage."""
    properties = pack.vocabulary.from_origin(Origin.SUBSTRATE)
    fixing = {fact for stage in pack.stages.values() for fact in stage.from_substrate.values()}

    def told_apart(substrate: Substrate) -> tuple[Value, ...]:
        values = substrate.properties
        cells = (float(fact.cell_of(values[fact.name])) for fact in properties)
        return (*cells, *(values[name] for name in sorted(fixing)))

    rows: dict[tuple[Value, ...], Row] = {}
    for symbol, substrate in pack.substrates.items():
        key = told_apart(substrate)
        known = rows.get(key, Row((), substrate.properties))
        rows[key] = replace(known, symbols=(*known.symbols, symbol))
    return tuple(rows.values()) or (Row((), {}),)
