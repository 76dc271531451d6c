"""How much one material takes over the stages that use it, before losses, and the sentence that says how."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Protocol

from planning.job import Spot
from planning.materials.coating import coating_ml, wet_film_um
from planning.materials.grooves import CM2_PER_M2
from planning.materials.mixing import solids_pct
from planning.materials.model import Film, Pieces, Strip
from planning.materials.shapes import Take, take
from planning.parameters import Parameters
from rules.amounts import Amount
from rules.pack import Component, Material

NO_AREA = "Not reckoned: the painted area is not known."
AS_NEEDED = "Not reckoned: used as needed."

Areas = Mapping[str, float | None]
"""What each stage covers, in square metres; None: not known."""


@dataclass(frozen=True)
class Use:
    """One stage that uses a material, and what it says of the amount; `grade` is of its abrasive."""

    stage: str
    title: str
    parameters: Parameters
    coats: int
    grade: str | None
    amounts: tuple[Amount, ...]


@dataclass(frozen=True)
class Reckoned:
    """Millilitres by stage, before losses; None where they cannot be reckoned, and `told` says why."""

    by_stage_ml: Mapping[str, float] | None
    told: str
    film: Film | None = None
    pieces: tuple[Pieces, ...] = ()
    strips: tuple[Strip, ...] = ()


class Way(Protocol):
    """A way to reckon, for jobs of any size."""

    def reckoned(self, areas_m2: Areas, spot: Spot) -> Reckoned: ...


def way_of(material: Material, uses: tuple[Use, ...], mix: Sequence[Component]) -> Way:
    """By what the stages say of shapes, else by area and film, area and use, or pieces."""
    if any(use.amounts for use in uses) or material.lasts_cm2 is not None:
        return _ByAmounts(material.lasts_cm2, uses)
    if material.kind == "coating":
        return _coating(material, uses, mix)
    if material.use_ml_per_m2 is not None:
        return _Wiped(material.use_ml_per_m2, uses)
    if material.kind == "filler":
        return _NotReckoned("Not reckoned: no stage says what groove or shape it fills.")
    return _NotReckoned(AS_NEEDED)


def _coating(material: Material, uses: tuple[Use, ...], mix: Sequence[Component]) -> Way:
    film_um, solids, transfer = material.film_um, material.volume_solids_pct, material.transfer_efficiency_pct
    if not film_um or not solids or not transfer:
        return _NotReckoned("Not reckoned: film, volume solids or transfer efficiency is not stated.")
    mixed = solids_pct(solids, mix)
    before = f" ({solids:g} % before the flexible additive)" if mixed != solids else ""
    return _Coated(
        film=Film(sum(use.coats for use in uses), film_um, round(wet_film_um(film_um, mixed), 1)),
        solids_pct=mixed,
        transfer_pct=transfer,
        told=f"{mixed:.3g} % volume solids{before}, {transfer:g} % transfer efficiency",
        uses=uses,
    )


@dataclass(frozen=True)
class _NotReckoned:
    why: str

    def reckoned(self, areas_m2: Areas, spot: Spot) -> Reckoned:
        return Reckoned(None, self.why)


@dataclass(frozen=True)
class _Coated:
    """By area and film; `told` ends the sentence."""

    film: Film
    solids_pct: float
    transfer_pct: float
    told: str
    uses: tuple[Use, ...]

    def reckoned(self, areas_m2: Areas, spot: Spot) -> Reckoned:
        film_um = self.film.dry_um
        by_stage_ml: dict[str, float] = {}
        coats_on: dict[float, int] = {}
        for use in self.uses:
            area_m2, coats = areas_m2[use.stage], use.coats
            if area_m2 is None:
                return Reckoned(None, NO_AREA)
            coats_on[area_m2] = coats_on.get(area_m2, 0) + coats
            by_stage_ml[use.stage] = coating_ml(area_m2, film_um, coats, self.solids_pct, self.transfer_pct)
        films = _times_on(coats_on, f"{film_um:g} µm dry film")
        return Reckoned(by_stage_ml, f"{films}, {self.told}", self.film)


@dataclass(frozen=True)
class _Wiped:
    """By area and what a square metre takes."""

    use_ml_per_m2: float
    uses: tuple[Use, ...]

    def reckoned(self, areas_m2: Areas, spot: Spot) -> Reckoned:
        by_stage_ml: dict[str, float] = {}
        times_on: dict[float, int] = {}
        for use in self.uses:
            area_m2 = areas_m2[use.stage]
            if area_m2 is None:
                return Reckoned(None, NO_AREA)
            times_on[area_m2] = times_on.get(area_m2, 0) + 1
            by_stage_ml[use.stage] = area_m2 * self.use_ml_per_m2
        return Reckoned(by_stage_ml, _times_on(times_on, f"{self.use_ml_per_m2:g} ml/m²"))


def _times_on(times_on: Mapping[float, int], what: str) -> str:
    return " and ".join([f"{times} x {what} on {area_m2:.4g} m²" for area_m2, times in times_on.items()])


@dataclass(frozen=True)
class _ByAmounts:
    """What the shapes take; pieces by what one lasts, too. A stage that says nothing takes nothing."""

    lasts_cm2: float | None
    uses: tuple[Use, ...]

    def reckoned(self, areas_m2: Areas, spot: Spot) -> Reckoned:
        by_stage_ml: dict[str, float] = {}
        pieces: dict[str | None, float] = {}
        strips: list[Strip] = []
        told: list[str] = []
        for use in self.uses:
            area_m2 = areas_m2[use.stage]
            if self.lasts_cm2 is not None and area_m2:
                pieces[use.grade] = pieces.get(use.grade, 0.0) + area_m2 * CM2_PER_M2 / self.lasts_cm2
                told.append(f"{use.title}: {area_m2:.4g} m²")
            for amount in use.amounts:
                taken = take(amount, use.stage, spot, use.parameters)
                strips += taken.strips
                if taken.volume_ml:
                    by_stage_ml[use.stage] = by_stage_ml.get(use.stage, 0.0) + taken.volume_ml
                if taken.pieces:
                    grade = amount.grade or use.grade
                    pieces[grade] = pieces.get(grade, 0.0) + taken.pieces
                told.append(_in_words(use.title, taken))
        if self.lasts_cm2 is not None:
            told.append(f"one does {self.lasts_cm2:g} cm²")
        return Reckoned(
            by_stage_ml or None,
            "; ".join(told),
            pieces=tuple(
                [Pieces(ceil(round(count, 6)), grade) for grade, count in pieces.items() if count > 0]
            ),
            strips=tuple(strips),
        )


def _in_words(title: str, taken: Take) -> str:
    if not taken.told:
        return f"{title}: {taken.pieces:g}"
    volume = f" ({taken.volume_ml:.1f} ml)" if taken.volume_ml else ""
    return f"{title}: {taken.told}{volume}"
