"""Volatile organic compounds that a procedure sets free."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal

from planning.emissions.model import Emissions
from planning.materials.model import MaterialNeed
from rules.pack import Material

CONVENTION = (
    "total: all volatile organic compounds of the coatings and cleaners whose quantity is reckoned, ready to "
    "use; water and exempt compounds are not taken out of the volume"
)
LIMITS = "Not assessed: compare each product's stated content with the limit that is in force where you work."


def emissions(
    needs: Iterable[MaterialNeed], materials: Mapping[str, Material], jurisdiction: str | None
) -> Emissions:
    """Litres x g/L over all materials, to a tenth of a gram."""
    total_g = sum((_voc_g(need, materials[need.material]) for need in needs), Decimal(0))
    return Emissions(jurisdiction, total_g.quantize(Decimal("0.1"), ROUND_HALF_UP), CONVENTION, LIMITS)


def _voc_g(need: MaterialNeed, material: Material) -> Decimal:
    if need.quantity_ml is None or material.voc_g_per_l is None:
        return Decimal(0)
    return need.quantity_ml * Decimal(str(material.voc_g_per_l)) / 1000
