"""Pot life: how long a mixed batch can be used, held against how long it takes to use it up.

A batch lives shorter in warmth, by the Arrhenius equation, and shorter the larger it is, because it warms
itself: ISO 9514 has it stored nearly adiabatically. How much shorter is data of the class of material. A
batch smaller than the one for which the figure holds is not taken to live longer.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf

from planning.rounding import tenth_down, tenth_up
from planning.timing.kinetics import at_most
from planning.timing.model import PotLifeUse
from rules.kinetics import PotLife

MOST_MIXES = 50
"""Work that would need more is not to be done with this class of material."""


@dataclass(frozen=True)
class Applying:
    """How a stage goes on a slow day: so many coats or passes, each of setting up and of applying."""

    times: float
    setting_up_min: float
    applying_min: float

    def in_use_min(self, mixes: int) -> float:
        """How long one of so many equal mixes is in use, setting up between the passes that it lasts for."""
        times = self.times / mixes
        return times * self.applying_min + max(times - 1, 0.0) * self.setting_up_min


@dataclass(frozen=True)
class Pot:
    """A material that is mixed for a stage, in the air at it; None: not known, which changes nothing.

    What is not `mixed_ahead`, in a cup, is mixed as it is pressed out of its cartridge.
    """

    material: str
    pot_life: PotLife
    air_c: float | None
    mixed_ahead: bool = False

    def life_min(self, batch_ml: float | None) -> float:
        """Minutes that a batch of this size can be used."""
        pot = self.pot_life
        if batch_ml is None or batch_ml <= pot.batch_ml:
            return self._small_batch_min
        return self._small_batch_min * float((pot.batch_ml / batch_ml) ** pot.batch_exponent)

    @cached_property
    def _small_batch_min(self) -> float:
        pot = self.pot_life
        return pot.minutes if self.air_c is None else pot.minutes * at_most(pot.by_temperature, self.air_c)


def pot_life_use(pot: Pot, whole_ml: float | None, applying: Applying) -> PotLifeUse:
    """Into how many equal mixes `whole_ml` is divided so that each is used up while it lives."""
    for mixes in range(1, MOST_MIXES + 1):
        batch_ml = None if whole_ml is None else whole_ml / mixes
        life_min, use_min = pot.life_min(batch_ml), applying.in_use_min(mixes)
        if use_min <= life_min:
            break
    return PotLifeUse(
        material=pot.material,
        life_min=tenth_down(life_min),
        use_min=tenth_up(use_min),
        batch_ml=None if batch_ml is None else tenth_up(batch_ml),
        mixes=mixes,
        note=_note(pot, whole_ml, applying.in_use_min(1), mixes),
    )


def tightest_use(uses: list[PotLifeUse]) -> PotLifeUse | None:
    """The use that leaves least time, for stages that mix more than one material."""
    return max(uses, key=lambda use: use.use_min / use.life_min if use.life_min else inf, default=None)


def _note(pot: Pot, whole_ml: float | None, at_once_min: float, mixes: int) -> str | None:
    notes = []
    if mixes > 1:
        life_min = tenth_down(pot.life_min(whole_ml))
        notes.append(
            f"Mixed at once it could be used for {life_min:g} min, and using it up may take "
            f"{tenth_up(at_once_min):g} min: mix {mixes} times, each when the one before is used up."
        )
    term, air_c = pot.pot_life.by_temperature, pot.air_c
    if air_c is not None and not term.valid_from_c <= air_c <= term.valid_to_c:
        notes.append(
            f"{air_c:g} °C is outside {term.valid_from_c:g} to {term.valid_to_c:g} °C, where the pot life is "
            "known; the shorter value is taken."
        )
    return " ".join(notes) or None
