"""What a shop asks of a repair before it is advised instead of a new part."""

from __future__ import annotations

from dataclasses import dataclass, field

from rules.conditions import Condition
from rules.places import NOWHERE, Place


@dataclass(frozen=True)
class Policy:
    """When `when` holds, a repair is advised that meets every limit; None where there is none.

    The saving is in per cent of what the replacement costs at the median, below zero where a repair may
    even cost more. `minimum_probability_pct` is how likely the repair has to be the cheaper one;
    `maximum_elapsed_min` the most that 80 % of such repairs may take from start to finish.
    """

    id: str
    why: str
    source: str
    when: Condition
    minimum_saving_pct: float | None = None
    minimum_probability_pct: float | None = None
    maximum_elapsed_min: float | None = None
    place: Place = field(default=NOWHERE, compare=False)
