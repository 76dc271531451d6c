"""Volatile organic compounds that a procedure sets free, mix by mix and in all, and the limits they meet."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from planning.emissions.assessing import Assessed
from planning.emissions.model import AssessedMix, Emissions, MixEmission
from planning.emissions.telling import CONVENTION
from planning.materials.model import MaterialNeed

_TENTH = Decimal("0.1")
_NOTHING = Decimal("0.0")


def emissions(needs: Sequence[MaterialNeed], assessed: Assessed, jurisdiction: str | None) -> Emissions:
    """What the materials set free, each to a tenth of a gram, and the sums.

    `assessed` are the mixes that they are, held against the limits of the jurisdiction, or none without one.
    """
    rows, limits = assessed
    quantities_ml = {need.material: need.quantity_ml for need in needs}
    mixes = tuple([_emission(row, quantities_ml[row.material]) for row in rows])
    return Emissions(
        jurisdiction=jurisdiction,
        voc_total_g=sum([each.voc_g for each in mixes if each.voc_g is not None], _NOTHING),
        exempt_total_g=sum([each.exempt_g for each in mixes if each.exempt_g is not None], _NOTHING),
        mixes=mixes,
        convention=CONVENTION,
        limits=limits,
    )


def _emission(row: AssessedMix, quantity_ml: Decimal | None) -> MixEmission:
    return MixEmission(row, _grams(quantity_ml, row.voc_g_per_l), _grams(quantity_ml, row.exempt_g_per_l))


def _grams(quantity_ml: Decimal | None, g_per_l: Decimal | None) -> Decimal | None:
    if quantity_ml is None or g_per_l is None:
        return None
    return (quantity_ml * g_per_l / 1000).quantize(_TENTH, ROUND_HALF_UP)
