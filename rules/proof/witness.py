"""A witness: one concrete case of a fault, near to an everyday line item, that can be posted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rules.conditions import Value
from rules.proof.diagrams import Diagram
from rules.proof.domain import SUBSTRATE, Domain
from rules.vocabulary import Fact
from rules.wording import value_in_words


@dataclass(frozen=True)
class Witness:
    """A material and the line-item facts beside it.

    `telling` are those that the fault hangs on and that are not as they would be assumed. Facts at
    values that a line item can't state (they do not apply) are left out of `facts`.
    """

    material: str
    facts: Mapping[str, Value]
    telling: tuple[str, ...]

    def in_words(self) -> str:
        """The facts that matter, as `fact = value`, in one line."""
        told = {"material": self.material, **self.facts}
        words = [f"{name} = {value_in_words(told[name])}" for name in told if name in self.telling]
        return ", ".join(words) or "any line item"


def witness_of(domain: Domain, where: Diagram) -> Witness:
    """A cell of `where` with as few departures from the defaults as a greedy choice finds.

    `where` is not empty and lies inside the admissible cells; ValueError otherwise.
    """
    everyday = _everyday(domain)
    cells = domain.diagrams.nearest(where, everyday)
    telling = [
        name
        for name in _telling(domain, where, cells)
        if name == SUBSTRATE or domain.facts[name].default is None or cells[name] != everyday[name]
    ]
    return Witness(
        material=domain.rows[cells[SUBSTRATE]].symbols[0],
        facts={
            name: fact.domain[cells[name]]
            for name, fact in domain.facts.items()
            if _can_be_stated(fact, fact.domain[cells[name]])
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
        pointer = facts[name].given_as
        if pointer is None:
            continue
        group, member, *feature = pointer.strip("/").split("/")
        if not feature:
            body.setdefault(group, {})[member] = value
        elif value:
            body[group][member].append(feature[0])
    return body


def _everyday(domain: Domain) -> dict[str, int]:
    """The cell of each variable that needs no explaining: the default, else `otherwise`, else the first."""
    cells = {SUBSTRATE: 0}
    for name, fact in domain.facts.items():
        plain = fact.default if fact.default is not None else fact.otherwise
        cells[name] = 0 if plain is None else fact.cell_of(plain)
    return cells


def _telling(domain: Domain, where: Diagram, cells: Mapping[str, int]) -> list[str]:
    """Variables that can't be left open without leaving `where`; the last ones declared go first."""
    diagrams = domain.diagrams
    kept = dict(cells)
    for name in reversed(list(cells)):
        others = {other: cell for other, cell in kept.items() if other != name}
        if not diagrams.meets(diagrams.point(others) & domain.admissible, ~where):
            kept = others
    return [name for name in cells if name in kept]


def _can_be_stated(fact: Fact, value: Value) -> bool:
    return not fact.values or value in fact.values
