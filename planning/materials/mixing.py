"""Recipes: what goes into the cup, by volume and by mass, in the order in which it goes in.

Volumes are taken to add up on mixing. Every figure that is shown is the difference of two running totals,
each rounded to a tenth, half up: the volumes add up to the quantity, the masses to what the scale shows.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache
from math import floor

from planning.materials.model import Recipe, RecipePart
from planning.rounding import tenths_decimal
from rules.amounts import Role
from rules.pack import Component
from rules.same import Same

SOLVENT_G_PER_ML = 0.88
"""What solvents of coatings weigh, 0.86 to 0.9 g/ml (common practice)."""


def joined(mix: Sequence[Component], stages: Collection[str]) -> tuple[Component, ...]:
    """The components that go in when a procedure has `stages`: an additive only where a stage asks for it."""
    return tuple([each for each in mix if each.only_with is None or each.only_with in stages])


def solids_pct(volume_solids_pct: float, mix: Sequence[Component]) -> float:
    """Volume solids of a mix in %, of which all but additives that hang on a stage hold `volume_solids_pct`.

    Such an additive stays in the film but for its water and solvents.
    """
    added = [each for each in mix if each.role == Role.ADDITIVE.value and each.only_with]
    whole = sum(each.parts for each in mix)
    rest = whole - sum(each.parts for each in added)
    stays = sum(each.parts * max(100.0 - _evaporates_pct(each), 0.0) for each in added)
    return (volume_solids_pct * rest + stays) / whole if added else volume_solids_pct


def _evaporates_pct(component: Component) -> float:
    solvent_pct = component.voc_g_per_l / SOLVENT_G_PER_ML / 10
    return component.water_pct + component.exempt_pct + solvent_pct


def recipe(mix: tuple[Component, ...], quantity_ml: int) -> Recipe:
    """What to mix for a quantity that is ready to use; `mix` holds what is joined, in its order."""
    return _recipe(Same(mix), quantity_ml)


@lru_cache(maxsize=512)
def _recipe(same: Same[tuple[Component, ...]], quantity_ml: int) -> Recipe:
    mix = same.it
    whole = sum(each.parts for each in mix)
    base_g = mix[0].parts * mix[0].density_g_per_ml
    volume = mass = 0.0
    shown_volume = shown_mass = 0
    parts = []
    for each in mix:
        volume_ml = quantity_ml * each.parts / whole
        volume += volume_ml
        mass += volume_ml * each.density_g_per_ml
        now_volume, now_mass = _tenths(volume), _tenths(mass)
        parts.append(
            RecipePart(
                component=each.id,
                title=each.title,
                role=each.role,
                parts=each.parts,
                parts_by_mass=round(100 * each.parts * each.density_g_per_ml / base_g, 1),
                volume_ml=tenths_decimal(now_volume - shown_volume),
                mass_g=tenths_decimal(now_mass - shown_mass),
                scale_g=tenths_decimal(now_mass),
            )
        )
        shown_volume, shown_mass = now_volume, now_mass
    return Recipe(tuple(parts), tenths_decimal(shown_volume), tenths_decimal(shown_mass))


def _tenths(value: float) -> int:
    """The nearest whole number of tenths, half up, blind to what floating point adds in the last places."""
    return floor(round(value * 10, 6) + 0.5)
