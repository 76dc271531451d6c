"""What a set of cells can do, whichever way it is held.

`domain.Domain` holds sets of all admissible cells as decision diagrams; `sample.Sample` holds sets of
listed cells as bits. `outcomes` states the meaning of a pack once over either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Protocol, TypeAlias

from rules.conditions import All, Condition, OneOf, Test, Within

CellSet: TypeAlias = Any
"""A set of cells of one space; `&`, `|` and `~` combine."""


class Space(Protocol):
    """Cells, and the sets of them in which tests of single facts hold."""

    @property
    def admissible(self) -> CellSet:
        """Every cell there is."""
        ...

    @property
    def empty(self) -> CellSet:
        """No cell."""
        ...

    def test(self, test: Test) -> CellSet:
        """The cells in which a test of a line-item or substrate fact holds."""
        ...

    def any(self, cells: CellSet) -> bool:
        """Whether a set holds an admissible cell."""
        ...

    def count(self, cells: CellSet) -> int:
        """How many admissible cells a set holds."""
        ...


def union(space: Space, sets: Iterable[CellSet]) -> CellSet:
    """The cells in at least one of `sets`."""
    whole = space.empty
    for cells in sets:
        whole = whole | cells
    return whole


def where_holds(space: Space, condition: Condition, test: Callable[[Test], CellSet]) -> CellSet:
    """The admissible cells in which `condition` holds, where `test` gives those of a single test."""
    match condition:
        case OneOf() | Within():
            return test(condition)
        case All(parts):
            whole = space.admissible
            for part in parts:
                whole = whole & where_holds(space, part, test)
            return whole
        case _:
            return union(space, (where_holds(space, part, test) for part in condition.parts))
