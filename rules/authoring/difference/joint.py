"""One space of cells in which two packs answer the same line items."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from rules.authoring.difference.aside import renamed
from rules.authoring.difference.vocabularies import common, given_in_both
from rules.pack import Pack
from rules.proof.diagrams import Diagram, Diagrams, Variable
from rules.proof.domain import SUBSTRATE, Domain, Row
from rules.proof.space import where_holds
from rules.vocabulary import Fact, Origin


class NotComparable(ValueError):
    """No line item can be put to both packs."""


@dataclass(frozen=True)
class Joint:
    """Both packs over one domain; facts of `second` that mean something of their own are renamed."""

    first: Pack
    second: Pack
    domain: Domain


def joint_of(first: Pack, second: Pack) -> Joint:
    """The cells that are admissible in both packs. Raises NotComparable where there is none."""
    shared = given_in_both(first.vocabulary, second.vocabulary)
    apart = {fact.name: f"{fact.name} in B" for fact in second.vocabulary if fact.name not in shared}
    second = renamed(second, apart)
    facts = _facts(first, second)
    rows = _rows(first, second)
    if not rows:
        raise NotComparable("the two packs have no material in common")
    variables = [Variable(name, len(fact.domain)) for name, fact in facts.items()]
    diagrams = Diagrams([Variable(SUBSTRATE, len(rows)), *variables])
    domain = Domain(diagrams, facts, rows, diagrams.well_formed)
    declared = [fact for pack in (first, second) for fact in pack.vocabulary.from_origin(Origin.LINE_ITEM)]
    domain = replace(domain, admissible=_statable(domain, declared))
    if not domain.count(domain.admissible):
        raise NotComparable("no line item can be stated to both packs: their facts apply in different cases")
    return Joint(first, second, domain)


def _facts(first: Pack, second: Pack) -> dict[str, Fact]:
    """Every fact of line items in either pack; what both know, with its common cells."""
    facts = {fact.name: fact for fact in first.vocabulary.from_origin(Origin.LINE_ITEM)}
    for fact in second.vocabulary.from_origin(Origin.LINE_ITEM):
        both = common(facts[fact.name], fact) if fact.name in facts else fact
        assert both is not None
        facts[fact.name] = both
    return facts


def _rows(first: Pack, second: Pack) -> tuple[Row, ...]:
    """The materials that both packs know, those with equal properties in both together."""
    rows: list[Row] = []
    for symbol, row in first.substrates.items():
        if symbol not in second.substrates:
            continue
        values = {**row.properties, **second.substrates[symbol].properties}
        known = next((number for number, other in enumerate(rows) if other.values == values), None)
        if known is None:
            rows.append(Row((symbol,), values))
        else:
            rows[known] = replace(rows[known], symbols=(*rows[known].symbols, symbol))
    return tuple(rows)


def _statable(domain: Domain, declared: Iterable[Fact]) -> Diagram:
    """Where every fact, as each pack declares it, has a value that a line item can give it."""
    where = domain.admissible
    for fact in declared:
        if fact.applies_when is None or fact.otherwise is None:
            continue
        applies = where_holds(domain, fact.applies_when, domain.test)
        otherwise = domain.diagrams.cells(fact.name, [domain.facts[fact.name].cell_of(fact.otherwise)])
        own = isinstance(fact.otherwise, str) and fact.otherwise not in fact.values
        where &= (applies & ~otherwise) | (~applies & otherwise) if own else applies | otherwise
    return where
