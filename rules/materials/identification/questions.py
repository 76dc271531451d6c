"""What it matters to know of a part: what the rules can tell of its material, or what they decide."""

from __future__ import annotations

from collections.abc import Hashable, Mapping

from rules.conditions import Value, facts_read
from rules.decision import Decision
from rules.materials.identification.model import Matter, Question, Range, Seen
from rules.pack import Pack
from rules.vocabulary import Fact, Kind, Origin

PROPERTIES = "properties"
PROCEDURE = "procedure"
STAGES = "stages"
DISPOSITION = "disposition"


def properties_seen(pack: Pack) -> dict[str, dict[str, Seen]]:
    """What can be told of every row of the substrate table, by symbol and fact."""
    facts = pack.vocabulary.from_origin(Origin.SUBSTRATE)
    shown = _shown(pack)
    return {
        symbol: {fact.name: _seen(fact, row.properties[fact.name], shown) for fact in facts}
        for symbol, row in pack.substrates.items()
    }


def of_properties(pack: Pack, properties: Mapping[str, Mapping[str, Seen]]) -> Matter:
    """While no line item is known: each property that matters to some line item."""
    mattering = _read(pack) | _shown(pack)
    facts = [name for name in next(iter(properties.values()), {}) if name in mattering]
    whole = {symbol: tuple(seen[name] for name in facts) for symbol, seen in properties.items()}
    single = (Question(name, {symbol: seen[name] for symbol, seen in properties.items()}) for name in facts)
    return Matter(Question(PROPERTIES, whole), tuple(single))


def of_decisions(pack: Pack, facts: Mapping[str, Value], decisions: Mapping[str, Decision]) -> Matter:
    """Of a line item: the procedure, or at least its stages, or at least the disposition.

    `decisions` are those on the `facts` of the line item with each material.
    """

    def asked(about: str, *parts: Mapping[str, Hashable]) -> Question:
        return Question(about, {symbol: tuple(part[symbol] for part in parts) for symbol in decisions})

    disposition = {symbol: decision.disposition for symbol, decision in decisions.items()}
    stages = {symbol: tuple(decision.stages) for symbol, decision in decisions.items()}
    details = {symbol: _details(pack, symbol, decision) for symbol, decision in decisions.items()}
    procedure = asked(PROCEDURE, disposition, stages, details)
    coarser = (asked(STAGES, disposition, stages), asked(DISPOSITION, disposition))
    return Matter(procedure, (procedure, *coarser), facts)


def _details(pack: Pack, symbol: str, decision: Decision) -> Hashable:
    """Settings, cautions, and the numbers that stages take from the substrate table."""
    row = pack.substrates[symbol].properties
    return (
        tuple((key, setting.value) for key, setting in decision.settings.items()),
        tuple(decision.cautions),
        tuple(row[fact] for stage in decision.stages for fact in pack.stages[stage].from_substrate.values()),
    )


def _seen(fact: Fact, value: Value, shown: frozenset[str]) -> Seen:
    """The value itself; of a number that only rules read, the cell it lies in."""
    if fact.kind is not Kind.NUMBER or fact.name in shown or not fact.cut_points:
        return value
    cell = fact.cell_of(value)
    bounds = (None, *fact.cut_points, None)
    return Range(bounds[cell], bounds[cell + 1])


def _read(pack: Pack) -> frozenset[str]:
    """The facts that decide what a rule does, or whether a fact applies."""
    applying = (fact.applies_when for fact in pack.vocabulary if fact.applies_when)
    conditions = (*(rule.when for rule in pack.rules.values()), *applying)
    return frozenset(name for condition in conditions for name in facts_read(condition))


def _shown(pack: Pack) -> frozenset[str]:
    """The facts whose very value stages show to people."""
    return frozenset(fact for stage in pack.stages.values() for fact in stage.from_substrate.values())
