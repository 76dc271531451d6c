"""A witness: one concrete case of a fault, near to an everyday line item, that can be posted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from rules.conditions import Value
from rules.predicates import holds
from rules.proof.diagrams import Diagram
from rules.proof.domain import SUBSTRATE, Domain
from rules.vocabulary import Fact
from rules.wording import value_in_words

FEATURES = "/part/features/"
NOTHING_WANTED: Mapping[str, Value] = MappingProxyType({})


@dataclass(frozen=True)
class Witness:
    """A material and the line-item facts beside it.

    `telling` are those that the fault hangs on and that are not as they would be assumed. Facts that
    do not apply are left out of `facts`.
    """

    material: str
    facts: Mapping[str, Value]
    telling: tuple[str, ...]

    def in_words(self) -> str:
        """The facts that matter, as `fact = value`, in one line."""
        told = {"material": self.material, **self.facts}
        words = [f"{name} = {value_in_words(value)}" for name, value in told.items() if name in self.telling]
        return ", ".join(words) or "any line item"


def witness_of(domain: Domain, where: Diagram, wanted: Mapping[str, Value] = NOTHING_WANTED) -> Witness:
    """A cell of `where` with few departures from what is wanted, and besides from the defaults.

    `where` is not empty and lies inside the admissible cells; ValueError otherwise.
    """
    everyday = _everyday(domain, wanted)
    cells = domain.diagrams.first(where, everyday)
    telling = [
        name
        for name in _telling(domain, where, cells)
        if name == SUBSTRATE
        or name in wanted
        or domain.facts[name].default is None
        or cells[name] != everyday[name]
    ]
    row = domain.rows[cells[SUBSTRATE]]
    values = {name: value_in(fact, cells[name], wanted.get(name)) for name, fact in domain.facts.items()}
    return Witness(
        material=row.symbols[0],
        facts={
            name: value
            for name, value in values.items()
            if applies(domain.facts[name], {**row.values, **values})
        },
        telling=tuple("material" if name == SUBSTRATE else name for name in telling),
    )


def line_item_of(witness: Witness, facts: Mapping[str, Fact]) -> dict[str, Any]:
    """The witness as the body of a request for a procedure, by the `given_as` of its facts."""
    body: dict[str, Any] = {
        "line_item": {"reference": "witness"},
        "part": {"name": "part", "material": witness.material, "features": []},
    }
    for name, value in witness.facts.items():
        place = facts[name].given_as or ""
        if not place.startswith(FEATURES):
            section, _, member = place.strip("/").partition("/")
            body.setdefault(section, {})[member] = _plain(value)
        elif value:
            body["part"]["features"].append(place.removeprefix(FEATURES))
    return body


def applies(fact: Fact, facts: Mapping[str, Value]) -> bool:
    """Whether a line item can state a fact beside these, which are those of its material too."""
    return fact.applies_when is None or holds(fact.applies_when, facts)


def value_in(fact: Fact, cell: int, wanted: Value | None = None) -> Value:
    """A value in a cell: the one wanted, the default, else the lowest or only one."""
    for value in (wanted, fact.default):
        if value is not None and fact.cell_of(value) == cell:
            return value
    return fact.domain[cell]


def _plain(value: Value) -> Value:
    """2.0 as 2: what counts things is a whole number on the wire."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _everyday(domain: Domain, wanted: Mapping[str, Value]) -> dict[str, int]:
    """The cell that needs no explaining: of what is wanted, the default, `otherwise`, else the first."""
    cells = {SUBSTRATE: 0}
    for name, fact in domain.facts.items():
        plain = (wanted.get(name), fact.default, fact.otherwise)
        cells[name] = next((fact.cell_of(value) for value in plain if value is not None), 0)
    return cells


def _telling(domain: Domain, where: Diagram, cells: Mapping[str, int]) -> list[str]:
    """Variables that can't be left open without leaving `where`; the last ones declared go first."""
    diagrams = domain.diagrams
    kept = dict(cells)
    for name in reversed(list(cells)):
        others = {other: cell for other, cell in kept.items() if other != name}
        if not domain.any(diagrams.point(others) & ~where):
            kept = others
    return [name for name in cells if name in kept]
