"""How much one material takes over the stages that use it, before losses, and the sentence that says how."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from planning.materials.areas import Spot
from planning.materials.coating import coating_ml, wet_film_um
from planning.materials.grooves import CM2_PER_M2
from planning.materials.mixing import solids_pct
from planning.materials.model import Film, Pieces, Strip
from planning.materials.shapes import Take, take
from planning.model import PlannedStage
from rules.amounts import Amount
from rules.pack import Component, Material

NO_AREA = "Not reckoned: the painted area is not known."
AS_NEEDED = "Not reckoned: used as needed."


@dataclass(frozen=True)
class Use:
    """One stage that uses a material, the area that it covers, and what it says of the amount."""

    stage: PlannedStage
    area_m2: float | None
    amounts: tuple[Amount, ...] = ()


@dataclass(frozen=True)
class Reckoned:
    """Millilitres by stage, before losses; None where they cannot be reckoned, and `told` says why."""

    by_stage_ml: Mapping[str, float] | None
    told: str
    film: Film | None = None
    pieces: tuple[Pieces, ...] = ()
    strips: tuple[Strip, ...] = ()


def reckoned(material: Material, uses: Sequence[Use], mix: Sequence[Component], spot: Spot) -> Reckoned:
    """The material by what its stages say of shapes, else by area and film, area and use, or pieces."""
    if any(use.amounts for use in uses) or material.lasts_cm2 is not None:
        return _by_amounts(material, uses, spot)
    if material.kind == "coating":
        return _coating(material, uses, mix)
    if material.use_ml_per_m2 is not None:
        return _wiped(uses, material.use_ml_per_m2)
    if material.kind == "filler":
        return Reckoned(None, "Not reckoned: no stage says what groove or shape it fills.")
    return Reckoned(None, AS_NEEDED)


def _coating(material: Material, uses: Sequence[Use], mix: Sequence[Component]) -> Reckoned:
    film_um, solids, transfer = material.film_um, material.volume_solids_pct, material.transfer_efficiency_pct
    if not film_um or not solids or not transfer:
        return Reckoned(None, "Not reckoned: film, volume solids or transfer efficiency is not stated.")
    mixed = solids_pct(solids, mix)
    by_stage_ml: dict[str, float] = {}
    coats_on: dict[float, int] = {}
    for use in uses:
        if use.area_m2 is None:
            return Reckoned(None, NO_AREA)
        coats = use.stage.coats or 1
        coats_on[use.area_m2] = coats_on.get(use.area_m2, 0) + coats
        by_stage_ml[use.stage.stage] = coating_ml(use.area_m2, film_um, coats, mixed, transfer)
    films = " and ".join(
        f"{coats} x {film_um:g} µm dry film on {area:.4g} m²" for area, coats in coats_on.items()
    )
    before = f" ({solids:g} % before the flexible additive)" if mixed != solids else ""
    told = f"{films}, {mixed:.3g} % volume solids{before}, {transfer:g} % transfer efficiency"
    film = Film(sum(coats_on.values()), film_um, round(wet_film_um(film_um, mixed), 1))
    return Reckoned(by_stage_ml, told, film)


def _wiped(uses: Sequence[Use], use_ml_per_m2: float) -> Reckoned:
    by_stage_ml: dict[str, float] = {}
    times_on: dict[float, int] = {}
    for use in uses:
        if use.area_m2 is None:
            return Reckoned(None, NO_AREA)
        times_on[use.area_m2] = times_on.get(use.area_m2, 0) + 1
        by_stage_ml[use.stage.stage] = use.area_m2 * use_ml_per_m2
    told = " and ".join(
        f"{times} x {use_ml_per_m2:g} ml/m² on {area:.4g} m²" for area, times in times_on.items()
    )
    return Reckoned(by_stage_ml, told)


def _by_amounts(material: Material, uses: Sequence[Use], spot: Spot) -> Reckoned:
    """What the shapes take; pieces by what one lasts, too. A stage that says nothing takes nothing."""
    by_stage_ml: dict[str, float] = {}
    pieces: dict[str | None, float] = {}
    strips: list[Strip] = []
    told: list[str] = []
    for use in uses:
        stage, grade = use.stage, use.stage.abrasive if material.graded else None
        if material.lasts_cm2 is not None and use.area_m2:
            lasting = use.area_m2 * CM2_PER_M2 / material.lasts_cm2
            pieces[grade] = pieces.get(grade, 0.0) + lasting
            told.append(f"{stage.title}: {use.area_m2:.4g} m²")
        for amount in use.amounts:
            taken = take(amount, stage.stage, spot, stage.parameters)
            strips += taken.strips
            if taken.volume_ml:
                by_stage_ml[stage.stage] = by_stage_ml.get(stage.stage, 0.0) + taken.volume_ml
            if taken.pieces:
                key = amount.grade or grade
                pieces[key] = pieces.get(key, 0.0) + taken.pieces
            told += _in_words(stage, taken)
    if material.lasts_cm2 is not None:
        told.append(f"one does {material.lasts_cm2:g} cm²")
    return Reckoned(
        by_stage_ml or None,
        "; ".join(told),
        pieces=tuple(Pieces(ceil(round(count, 6)), grade) for grade, count in pieces.items() if count > 0),
        strips=tuple(strips),
    )


def _in_words(stage: PlannedStage, taken: Take) -> list[str]:
    if not taken.told:
        return [f"{stage.title}: {taken.pieces:g}"]
    volume = f" ({taken.volume_ml:.1f} ml)" if taken.volume_ml else ""
    return [f"{stage.title}: {taken.told}{volume}"]
