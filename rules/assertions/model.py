"""An assertion and the patterns of answers that it speaks of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rules.conditions import Condition, Value
from rules.pack import Disposition
from rules.places import NOWHERE, Place
from rules.predicates import same


@dataclass(frozen=True)
class Bounds:
    """A number at least `at_least` and at most `at_most`; None: no bound."""

    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True)
class NothingBetween:
    """After any of `after` and before any of `before`, none of `stages` is done."""

    after: tuple[str, ...]
    before: tuple[str, ...]
    stages: tuple[str, ...]


@dataclass(frozen=True)
class Carry:
    """The stages of this name, and those that use one of these materials, carry these cautions themselves."""

    stages: tuple[str, ...]
    users_of: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Pattern:
    """What an answer looks like: every member that is stated holds.

    `reasons` are rules whose reason for the disposition people are told. The last four speak of stages
    as far as they are present: `parameters` gives the value, or the bounds of the value, that a
    parameter has, or None for one that no rule sets; `order` names stages that follow one another.
    """

    dispositions: tuple[Disposition, ...] = ()
    reasons: tuple[str, ...] = ()
    present: tuple[str, ...] = ()
    any_of: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    no_stages: bool = False
    parameters: Mapping[tuple[str, str], Value | Bounds | None] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    nothing_between: NothingBetween | None = None
    carry: Carry | None = None


@dataclass(frozen=True)
class Assertion:
    """Wherever `when` holds of the facts and `where` of the answer, `always` holds and `never` does not.

    An assertion that no longer stands under an overlay is of the pack alone in which it is written.
    """

    id: str
    when: Condition
    where: Pattern
    always: Pattern | None
    never: Pattern | None
    why: str
    source: str
    stands_under_overlays: bool = True
    place: Place = field(default=NOWHERE, compare=False)


def agrees(value: Value, wanted: Value | Bounds) -> bool:
    """Whether the value of a parameter is the one wanted, or lies in the bounds wanted."""
    if not isinstance(wanted, Bounds):
        return same(value, wanted)
    if isinstance(value, (bool, str)):
        return False
    low, high = wanted.at_least, wanted.at_most
    return (low is None or value >= low) and (high is None or value <= high)
