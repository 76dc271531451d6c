"""What a litre of a mix holds of volatile organic compounds, in each convention.

VOC = (Wv - Ww - Wec) / (V - Vw - Vec), 40 CFR 59.104(a)(1): mass of the volatiles less water and exempt
compounds, over the volume less theirs; in the total convention over the whole volume. Volumes are taken to
add up on mixing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rules.jurisdictions import Convention
from rules.pack import Component, Material

_LITRE_ML = 1000.0


@dataclass(frozen=True)
class Content:
    """What one litre, ready to use, holds; `voc_g` leaves exempt compounds out."""

    voc_g: float
    exempt_g: float = 0.0
    exempt_ml: float = 0.0
    water_ml: float = 0.0


@lru_cache(maxsize=1024)
def content_of(components: tuple[Component, ...]) -> Content:
    """The content of components mixed by their parts by volume, at least one of which is above nought."""
    parts = sum(component.parts for component in components)

    def in_a_litre(of_each: Sequence[float]) -> float:
        shares = (component.parts / parts for component in components)
        return sum(share * amount for share, amount in zip(shares, of_each, strict=True))

    exempt_ml = [component.exempt_pct / 100 * _LITRE_ML for component in components]
    densities = [component.exempt_density_g_per_ml or 0.0 for component in components]
    return Content(
        voc_g=in_a_litre([component.voc_g_per_l for component in components]),
        exempt_g=in_a_litre([ml * density for ml, density in zip(exempt_ml, densities, strict=True)]),
        exempt_ml=in_a_litre(exempt_ml),
        water_ml=in_a_litre([component.water_pct / 100 * _LITRE_ML for component in components]),
    )


def content_of_material(material: Material, components: tuple[Component, ...]) -> Content | None:
    """The content of a material mixed from `components`; of one that is not mixed, its own; None: not known.

    What is not mixed and says nothing of water and exempt compounds is taken to hold none.
    """
    if components:
        return content_of(components)
    return None if material.voc_g_per_l is None else Content(material.voc_g_per_l)


def g_per_l(content: Content, convention: Convention, exempt_counts: bool = False) -> float | None:
    """Grams a litre; with `exempt_counts`, exempt compounds count as volatile organic compounds.

    None where the volume is nothing but what is taken out, so that there is nothing to relate to.
    """
    mass_g = content.voc_g + (content.exempt_g if exempt_counts else 0.0)
    volume_ml = _LITRE_ML
    if convention is not Convention.TOTAL:
        volume_ml -= content.water_ml
    if convention is Convention.LESS_WATER_AND_EXEMPT:
        volume_ml -= content.exempt_ml
    if volume_ml <= 0:
        return None if mass_g > 0 else 0.0
    return mass_g * _LITRE_ML / volume_ml


def multi_stage_g_per_l(base: float, midcoats: Sequence[float], clear: float) -> float:
    """A topcoat of several coatings: (base + midcoats + 2 x clear) / (midcoats + 3), 40 CFR 59.104(a)(2)."""
    return (base + sum(midcoats) + 2 * clear) / (len(midcoats) + 3)
