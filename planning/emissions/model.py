"""What a procedure sets free, and how that stands to the limits where the shop is."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Held:
    """A mix against the most restrictive limit for it; value and `over` None: its content is not known.

    `weighed` are the materials that the value is of: the mix itself, or base, midcoats and clear of a topcoat
    whose contents are weighed together. The value is in the category's `convention`.
    """

    jurisdiction: str
    category: str
    title: str
    weighed: tuple[str, ...]
    convention: str
    value_g_per_l: Decimal | None
    limit_g_per_l: Decimal
    over: bool | None
    evidence: str


@dataclass(frozen=True)
class Alternative:
    """Another class for the same purpose, held against the limit for it."""

    material: str
    title: str
    held: Held


@dataclass(frozen=True)
class AssessedMix:
    """What a litre of one mix holds as applied, in both conventions; None: not known.

    `voc_g_per_l` and `exempt_g_per_l` are not rounded, for sums. `held` None: no jurisdiction, or no limit
    for it there. `alternatives` are told where the mix is over its limit.
    """

    material: str
    title: str
    total_g_per_l: Decimal | None
    less_water_and_exempt_g_per_l: Decimal | None
    voc_g_per_l: Decimal | None
    exempt_g_per_l: Decimal | None
    held: Held | None
    told: str | None
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True)
class MixEmission:
    """What the job sets free of one mix, in grams; None: no content, or no quantity, is known."""

    mix: AssessedMix
    voc_g: Decimal | None
    exempt_g: Decimal | None


@dataclass(frozen=True)
class Emissions:
    """Volatile organic compounds as applied, in grams, total convention (nothing subtracted).

    `exempt_total_g` are solvents that count as volatile organic compounds where nothing is exempt.
    """

    jurisdiction: str | None
    voc_total_g: Decimal
    exempt_total_g: Decimal
    mixes: tuple[MixEmission, ...]
    convention: str
    limits: str
