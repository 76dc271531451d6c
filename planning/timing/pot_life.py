"""Pot life: how long a mixed batch can be used, held against how long it takes to use it up.

A batch lives shorter in warmth, by the Arrhenius equation, and shorter the larger it is, because it warms
itself: ISO 9514 has it stored nearly adiabatically. How much shorter is data of the class of material. A
batch smaller than the one for which the figure holds is not taken to live longer.
"""

from __future__ import annotations

from math import inf

from planning.rounding import tenth_down, tenth_up
from planning.timing.kinetics import at_most
from planning.timing.model import PotLifeUse
from rules.kinetics import PotLife

MOST_MIXES = 50
"""Work that would need more is not to be done with this class of material."""


def pot_life_min(pot: PotLife, batch_ml: float | None, air_c: float | None) -> float:
    """Minutes that a batch of this size can be used in this air; what is not known changes nothing."""
    minutes = pot.minutes
    if air_c is not None:
        minutes *= at_most(pot.by_temperature, air_c)
    if batch_ml is not None and batch_ml > pot.batch_ml:
        minutes *= (pot.batch_ml / batch_ml) ** pot.batch_exponent
    return minutes


def pot_life_use(
    material: str, pot: PotLife, whole_ml: float | None, use_min: float, air_c: float | None
) -> PotLifeUse:
    """Into how many equal mixes `whole_ml` is divided so that each is used up while it lives.

    `use_min` is how long it takes to use all of it, on a slow day.
    """
    for mixes in range(1, MOST_MIXES + 1):
        batch_ml = None if whole_ml is None else whole_ml / mixes
        life_min = pot_life_min(pot, batch_ml, air_c)
        if use_min / mixes <= life_min:
            break
    return PotLifeUse(
        material=material,
        life_min=tenth_down(life_min),
        use_min=tenth_up(use_min / mixes),
        batch_ml=None if batch_ml is None else tenth_up(batch_ml),
        mixes=mixes,
        note=_note(pot, whole_ml, use_min, air_c, mixes),
    )


def tightest_use(uses: list[PotLifeUse]) -> PotLifeUse | None:
    """The use that leaves least time, for stages that mix more than one material."""
    return max(uses, key=lambda use: use.use_min / use.life_min if use.life_min else inf, default=None)


def _note(
    pot: PotLife, whole_ml: float | None, use_min: float, air_c: float | None, mixes: int
) -> str | None:
    notes = []
    if mixes > 1:
        life_min = tenth_down(pot_life_min(pot, whole_ml, air_c))
        notes.append(
            f"Mixed at once it could be used for {life_min:g} min, and using it up may take "
            f"{tenth_up(use_min):g} min: mix {mixes} times, each when the one before is used up."
        )
    term = pot.by_temperature
    if air_c is not None and not term.valid_from_c <= air_c <= term.valid_to_c:
        notes.append(
            f"{air_c:g} °C is outside {term.valid_from_c:g} to {term.valid_to_c:g} °C, where the pot life is "
            "known; the shorter value is taken."
        )
    return " ".join(notes) or None
