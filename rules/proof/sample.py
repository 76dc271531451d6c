"""Listed cells as bit vectors: eight cells a byte, so that one operation decides many of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rules.conditions import Test, Value
from rules.pack import Pack
from rules.predicates import test_holds
from rules.vocabulary import Fact

Bits = NDArray[np.uint8]


@dataclass(frozen=True)
class Sample:
    """`size` cells: for each line-item and substrate fact an array (size,) of its cell numbers."""

    facts: Mapping[str, Fact]
    cells: Mapping[str, NDArray[np.intp]]
    size: int

    @cached_property
    def admissible(self) -> Bits:
        """Every cell; the bits that fill the last byte are clear."""
        return np.packbits(np.ones(self.size, dtype=bool))

    @property
    def empty(self) -> Bits:
        """No cell."""
        return np.zeros_like(self.admissible)

    def test(self, test: Test) -> Bits:
        """The cells in which a test of a fact holds."""
        domain: tuple[Value, ...] = self.facts[test.fact].domain
        table = np.array([test_holds(test, value) for value in domain])
        return np.packbits(table[self.cells[test.fact]])

    def any(self, cells: Bits) -> bool:
        """Whether a set holds a cell."""
        return bool((cells & self.admissible).any())

    def count(self, cells: Bits) -> int:
        """How many cells a set holds."""
        return int(np.unpackbits(cells & self.admissible).sum())

    def only(self, number: int) -> Bits:
        """The one cell with this number."""
        return np.packbits(np.arange(self.size) == number)

    def unpacked(self, cells: Bits) -> NDArray[np.bool_]:
        """A set as truth values, shape (size,)."""
        return np.unpackbits(cells, count=self.size).astype(bool)


def sample_of(pack: Pack, facts: list[Mapping[str, Value]]) -> Sample:
    """The cells of complete fact sets (`rules.intake.complete`), in their order."""
    declared = {name: pack.vocabulary[name] for name in facts[0]} if facts else {}
    cells = {
        name: np.fromiter((fact.cell_of(each[name]) for each in facts), dtype=np.intp, count=len(facts))
        for name, fact in declared.items()
    }
    return Sample(declared, cells, len(facts))
