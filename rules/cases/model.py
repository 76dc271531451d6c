"""A case: facts that are given, and what the pack is expected to answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rules.conditions import Value
from rules.pack import Disposition, ParameterValue
from rules.places import NOWHERE, Place


@dataclass(frozen=True)
class Expected:
    """What a case expects; what is None or empty is not looked at.

    `order` names stages that come in this order, others between them.
    """

    disposition: Disposition | None = None
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    order: tuple[str, ...] = ()
    parameters: Mapping[tuple[str, str], ParameterValue] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Case:
    """One case.

    `given` holds typed line-item facts by name, `places` where each member of `expect` stands.
    """

    name: str
    material: str
    given: Mapping[str, Value]
    expected: Expected
    place: Place = field(default=NOWHERE, compare=False)
    places: Mapping[str, Place] = field(default_factory=dict, compare=False)

    def place_of(self, member: str) -> Place:
        """Where a member of `expect` stands; the case itself where that is not known."""
        return self.places.get(member, self.place)
