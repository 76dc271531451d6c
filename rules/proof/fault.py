"""What a proof reports: a fault of a pack in some cells of its domain, with a witness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.conditions import Value
from rules.findings import Finding
from rules.places import NOWHERE, Place
from rules.proof.domain import Domain
from rules.proof.space import CellSet
from rules.proof.witness import NOTHING_WANTED, Witness, witness_of


@dataclass(frozen=True)
class Fault:
    """A code of `rules.codes`, the places of the rules concerned, and how many cells are at fault.

    A fault of a rule that never does anything has no cells and no witness.
    """

    code: str
    message: str
    places: tuple[Place, ...]
    cells: int = 0
    witness: Witness | None = None

    def finding(self) -> Finding:
        """The fault as one finding, at the first of its places."""
        told = self.message
        if len(self.places) > 1:
            told += " (also " + ", ".join(map(str, self.places[1:])) + ")"
        if self.witness:
            cells = "1 cell" if self.cells == 1 else f"{self.cells:,} cells"
            told += f"; in {cells}, for example: {self.witness.in_words()}"
        return Finding(self.code, self.places[0] if self.places else NOWHERE, told)


def fault_in(
    domain: Domain,
    where: CellSet,
    code: str,
    message: str,
    *places: Place,
    wanted: Mapping[str, Value] = NOTHING_WANTED,
) -> Fault:
    """A fault in the cells of `where`, which is not empty; its witness is near to what is `wanted`."""
    return Fault(code, message, places, domain.count(where), witness_of(domain, where, wanted))
