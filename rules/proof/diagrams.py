"""Binary decision diagrams over variables with numbered cells.

A variable with n cells takes the bits of a binary number; numbers from n up are no cells and are kept
out by `well_formed`. The diagrams themselves are those of `dd`: CUDD where its wheel carries it, else
plain Python, slower with the same answers. A manager and its diagrams belong to one thread at a time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_
from typing import Any, TypeAlias

try:
    from dd import cudd as engine
except ImportError:
    from dd import autoref as engine

Diagram: TypeAlias = Any
"""A function of the cells: `&`, `|` and `~` combine, `==` compares. Belongs to one manager."""

EXACT_BITS = 53
"""CUDD counts in floating point, which is exact up to so many bits."""


@dataclass(frozen=True)
class Variable:
    """A variable with cells 0 .. `size` - 1."""

    name: str
    size: int

    @property
    def bits(self) -> tuple[str, ...]:
        """Names of its bits, the highest first; none for a variable with one cell."""
        return tuple(f"{self.name}.{place}" for place in _down((self.size - 1).bit_length()))

    def code(self, cell: int) -> dict[str, bool]:
        """The bits of a cell by name."""
        return dict(zip(self.bits, (bool(cell >> place & 1) for place in _down(len(self.bits))), strict=True))


def _down(count: int) -> range:
    return range(count - 1, -1, -1)


class Diagrams:
    """One manager of diagrams over `variables`."""

    def __init__(self, variables: Sequence[Variable]) -> None:
        self.variables = {variable.name: variable for variable in variables}
        self._manager = engine.BDD()
        self._bits = [bit for variable in variables for bit in variable.bits]
        self._manager.declare(*self._bits)
        self.true: Diagram = self._manager.true
        self.false: Diagram = self._manager.false
        self._cells = {
            (variable.name, cell): self._code(variable, cell)
            for variable in variables
            for cell in range(variable.size)
        }
        self.well_formed: Diagram = self.all_of(
            self.cells(variable.name, range(variable.size)) for variable in variables
        )

    def cells(self, variable: str, cells: Iterable[int]) -> Diagram:
        """Where `variable` is in one of `cells`."""
        return self.any_of(self._cells[variable, cell] for cell in cells)

    def all_of(self, parts: Iterable[Diagram]) -> Diagram:
        """Where every part holds."""
        return reduce(and_, parts, self.true)

    def any_of(self, parts: Iterable[Diagram]) -> Diagram:
        """Where at least one part holds."""
        return reduce(or_, parts, self.false)

    def point(self, cells: Mapping[str, int]) -> Diagram:
        """Where every named variable is in the named cell."""
        return self.all_of(self._cells[name, cell] for name, cell in cells.items())

    def count(self, diagram: Diagram) -> int:
        """How many combinations of cells `diagram` (inside `well_formed`) holds in."""
        if len(self._bits) <= EXACT_BITS:
            return int(self._manager.count(diagram, nvars=len(self._bits)))
        ways = Counter({diagram: 1})
        for variable in self.variables.values():
            narrowed: Counter[Diagram] = Counter()
            for part, number in ways.items():
                for cell in range(variable.size):
                    narrowed[self.given(part, variable.name, cell)] += number
            ways = narrowed
        return ways[self.true]

    def support(self, diagram: Diagram) -> tuple[str, ...]:
        """The variables that `diagram` depends on, in their order."""
        read = {bit.rpartition(".")[0] for bit in self._manager.support(diagram)}
        return tuple(name for name in self.variables if name in read)

    def given(self, diagram: Diagram, variable: str, cell: int) -> Diagram:
        """`diagram` with `variable` held in one cell; it no longer depends on that variable."""
        code = self.variables[variable].code(cell)
        return self._manager.let(code, diagram) if code else diagram

    def first(self, diagram: Diagram, preferred: Mapping[str, int]) -> dict[str, int]:
        """One combination of cells in which a non-empty `diagram` holds.

        Variable by variable, the preferred cell where that is still possible, else the lowest that is.
        """
        chosen: dict[str, int] = {}
        for variable in self.variables.values():
            wanted = preferred[variable.name]
            for cell in (wanted, *(cell for cell in range(variable.size) if cell != wanted)):
                narrowed = diagram & self._cells[variable.name, cell]
                if narrowed != self.false:
                    diagram, chosen[variable.name] = narrowed, cell
                    break
            else:
                raise ValueError("an empty diagram has no combination")
        return chosen

    def nearest(
        self, diagram: Diagram, preferred: Mapping[str, int], costless: Mapping[str, Diagram]
    ) -> dict[str, int]:
        """One combination in which a non-empty `diagram` holds at the least cost.

        A variable costs 1 wherever its `costless` does not hold. Of several combinations, the one that
        leaves `preferred` in variables declared late.
        """
        if diagram == self.false:
            raise ValueError("an empty diagram has no combination")
        for most in range(len(costless) + 1):
            # `within[n]`: the variables so far cost at most n.
            within = [self.true] * (most + 1)
            for free in costless.values():
                within = [
                    each & free | (within[n - 1] & ~free if n else self.false)
                    for n, each in enumerate(within)
                ]
            if diagram & within[most] != self.false:
                return self.first(diagram & within[most], preferred)
        raise AssertionError("no combination costs more than all variables")

    def _code(self, variable: Variable, cell: int) -> Diagram:
        code = variable.code(cell)
        return self._manager.cube(code) if code else self.true
