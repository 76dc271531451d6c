"""Where a shop is, as far as it limits what may evaporate and says how spraying is done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from rules.places import NOWHERE, Place


class CoatingRole(Enum):
    """What a coating or cleaner is for, in the project's own words; jurisdictions sort them into categories.

    The last two are of several coatings together: a topcoat of colour and clear, and one with midcoats too.
    """

    CLEANER = "cleaner"
    PRE_CLEANER = "pre_cleaner"
    FILLER = "filler"
    WASH_PRIMER = "wash_primer"
    ADHESION_PROMOTER = "adhesion_promoter"
    PRIMER_SURFACER = "primer_surfacer"
    PRIMER_SEALER = "primer_sealer"
    COLOR_COAT = "color_coat"
    MIDCOAT = "midcoat"
    CLEAR_COAT = "clear_coat"
    SINGLE_STAGE = "single_stage"
    MULTI_COLOR = "multi_color"
    UNIFORM_FINISH = "uniform_finish"
    TEXTURE = "texture"
    TWO_STAGE_TOPCOAT = "two_stage_topcoat"
    MULTI_STAGE_TOPCOAT = "multi_stage_topcoat"


TOPCOATS = (CoatingRole.TWO_STAGE_TOPCOAT, CoatingRole.MULTI_STAGE_TOPCOAT)
"""The roles that no single coating has."""


class Convention(Enum):
    """What is taken out of the volume that a content is related to."""

    TOTAL = "total"
    LESS_WATER = "less_water"
    LESS_WATER_AND_EXEMPT = "less_water_and_exempt"


@dataclass(frozen=True)
class Category:
    """The most that the coatings of some roles may hold, ready to use, in g/L of `convention`."""

    id: str
    title: str
    roles: tuple[CoatingRole, ...]
    limit_g_per_l: float
    convention: Convention
    evidence: str


@dataclass(frozen=True)
class Jurisdiction:
    """Limits of one authority, as published in `edition`; what is in force is for the shop to check.

    `exempt_compounds` are solvents that are not counted as volatile organic compounds; with none, all are
    counted. (Components state the share of such solvents without naming them: it counts as exempt wherever
    any is.) `within` names the jurisdiction around it, whose limits and cautions hold too. `adds` maps a
    caution to those that stand beside it here; `over_limit` are cautions of a coating over its limit.
    """

    id: str
    title: str
    edition: str
    convention: Convention
    categories: tuple[Category, ...]
    over_limit: tuple[str, ...]
    source: str
    within: str | None = None
    exempt_compounds: tuple[str, ...] = ()
    adds: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    place: Place = field(default=NOWHERE, compare=False)

    def categories_of(self, role: CoatingRole) -> tuple[Category, ...]:
        """The categories that coatings of a role fall into; none where they are not limited."""
        return tuple(category for category in self.categories if role in category.roles)

    @property
    def cautions(self) -> frozenset[str]:
        """Every caution that it puts into procedures."""
        return frozenset(self.over_limit).union(*self.adds.values())
