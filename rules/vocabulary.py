"""The closed vocabulary: every fact a rule may read, its kind, its domain and where it comes from.

The domain of a fact is cut into numbered cells: one for each member of an enumeration, two for a
truth value, and one for each interval between the cut points of a number. Two values in one cell
are the same to every rule, so a decision depends on cells alone.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from rules.conditions import Condition, Value
from rules.places import NOWHERE, Place


class Kind(Enum):
    """The type of a fact's value."""

    ENUMERATION = "enumeration"
    BOOLEAN = "boolean"
    NUMBER = "number"


class Origin(Enum):
    """Who states a fact: the line item, the row of the substrate table, or the rules."""

    LINE_ITEM = "line_item"
    SUBSTRATE = "substrate"
    RULES = "rules"


@dataclass(frozen=True)
class Fact:
    """One declared fact.

    `values` are the members of an enumeration with what each means; `cut_points` ascend.
    `default` is the cautious value taken (and reported) when a line item does not give the fact;
    None means it must be given. A derived fact always has a default: its value when no rule
    concludes it. When `applies_when` does not hold, the fact takes `otherwise`, which for an
    enumeration may be a member of its own that a line item can't state for an applicable fact.
    `given_as` is the JSON pointer of the fact in a line item.
    """

    name: str
    kind: Kind
    origin: Origin
    about: str
    values: Mapping[str, str] = field(default_factory=dict)
    unit: str | None = None
    minimum: float = 0.0
    maximum: float = 0.0
    cut_points: tuple[float, ...] = ()
    default: Value | None = None
    applies_when: Condition | None = None
    otherwise: Value | None = None
    given_as: str | None = None
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def domain(self) -> tuple[Value, ...]:
        """One representative value for each cell, in cell order."""
        if self.kind is Kind.BOOLEAN:
            return (False, True)
        if self.kind is Kind.NUMBER:
            return (self.minimum, *self.cut_points)
        members = tuple(self.values)
        if isinstance(self.otherwise, str) and self.otherwise not in self.values:
            return (*members, self.otherwise)
        return members

    def cell_of(self, value: Value) -> int:
        """The number of the cell that holds `value`. Raises ValueError when none does."""
        if self.kind is Kind.NUMBER:
            return bisect_right(self.cut_points, float(value))
        return self.domain.index(value)

    def fault_of(self, value: object) -> str | None:
        """Why `value` can't be a value of this fact, or None. Never converts between types."""
        if self.kind is Kind.BOOLEAN:
            return None if isinstance(value, bool) else "must be true or false"
        if self.kind is Kind.ENUMERATION:
            known = isinstance(value, str) and value in self.domain
            return None if known else "must be one of " + ", ".join(self.values)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return "must be a number"
        if not self.minimum <= value <= self.maximum:
            unit = f" {self.unit}" if self.unit else ""
            return f"must be between {self.minimum:g} and {self.maximum:g}{unit}"
        return None


@dataclass(frozen=True)
class Vocabulary:
    """Every declared fact by name."""

    facts: Mapping[str, Fact]

    def __getitem__(self, name: str) -> Fact:
        return self.facts[name]

    def __contains__(self, name: object) -> bool:
        return name in self.facts

    def __iter__(self) -> Iterator[Fact]:
        return iter(self.facts.values())

    def from_origin(self, origin: Origin) -> tuple[Fact, ...]:
        """The facts of one origin, in the order declared."""
        return tuple(fact for fact in self if fact.origin is origin)

    def cells(self, facts: Mapping[str, Value]) -> tuple[int, ...]:
        """The cell number of every declared fact, ordered by name; -1 for those not in `facts`.

        Two fact sets with equal cells get equal decisions.
        """
        return tuple(self[name].cell_of(facts[name]) if name in facts else -1 for name in sorted(self.facts))
