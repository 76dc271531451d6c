"""How much material a procedure uses.

A coating of V % volume solids covers 10 V / d square metres a litre at d µm dry film (theoretical
spreading rate, by units; volume solids as in ISO 3233). What is sprayed beside the part is lost, so
the need is area x film / (10 V x transfer efficiency). Rounding up comes last. What stays in mixing
cup, gun and hose, and spoiled mixes, is not counted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, Decimal

from planning.materials.model import MaterialNeed
from planning.model import PlannedStage
from rules.pack import Material

Reckoned = tuple[Decimal | None, str]


def coating_ml(
    area_m2: float, film_um: float, coats: int, volume_solids_pct: float, transfer_efficiency_pct: float
) -> Decimal:
    """Millilitres of ready-to-spray coating for `coats` coats of `film_um` dry each, not rounded."""
    film_ml = _exact(area_m2) * _exact(film_um) * coats
    return film_ml * 10_000 / (_exact(volume_solids_pct) * _exact(transfer_efficiency_pct))


def cleaner_ml(area_m2: float, use_ml_per_m2: float, times: int) -> Decimal:
    """Millilitres of cleaner for cleaning an area so many times, not rounded."""
    return _exact(area_m2) * _exact(use_ml_per_m2) * times


def material_needs(
    stages: Sequence[PlannedStage], materials: Mapping[str, Material], area_m2: float | None
) -> tuple[MaterialNeed, ...]:
    """What the stages use, in the order of first use."""
    users: dict[str, list[PlannedStage]] = {}
    for stage in stages:
        for material in stage.materials:
            users.setdefault(material, []).append(stage)
    return tuple(_need(materials[name], used_by, area_m2) for name, used_by in users.items())


def _need(material: Material, users: Sequence[PlannedStage], area_m2: float | None) -> MaterialNeed:
    quantity_ml, basis = _reckon(material, users, area_m2)
    return MaterialNeed(
        material=material.id,
        title=material.title,
        kind=material.kind,
        stages=tuple(stage.stage for stage in users),
        quantity_ml=None if quantity_ml is None else quantity_ml.to_integral_value(ROUND_CEILING),
        basis=basis,
    )


def _reckon(material: Material, users: Sequence[PlannedStage], area_m2: float | None) -> Reckoned:
    if material.kind == "filler":
        return None, "Not reckoned: it depends on the shape of the groove, which is cut to suit the damage."
    if material.kind not in ("coating", "cleaner"):
        return None, "Not reckoned: used as needed."
    if area_m2 is None:
        return None, "Not reckoned: the painted area is not known."
    reckon = _coating if material.kind == "coating" else _cleaner
    return reckon(material, users, area_m2)


def _coating(material: Material, users: Sequence[PlannedStage], area_m2: float) -> Reckoned:
    film, solids = material.film_um, material.volume_solids_pct
    transfer = material.transfer_efficiency_pct
    if film is None or solids is None or transfer is None:
        return None, "Not reckoned: film, volume solids or transfer efficiency is not stated."
    coats = sum(1 if stage.coats is None else stage.coats for stage in users)
    basis = (
        f"{coats} x {film:g} µm dry film on {area_m2:g} m², {solids:g} % volume solids, {transfer:g} % "
        "transfer efficiency; what stays in cup and gun is not counted."
    )
    return coating_ml(area_m2, film, coats, solids, transfer), basis


def _cleaner(material: Material, users: Sequence[PlannedStage], area_m2: float) -> Reckoned:
    use = material.use_ml_per_m2
    if use is None:
        return None, "Not reckoned: the use for each square metre is not stated."
    return cleaner_ml(area_m2, use, len(users)), f"{len(users)} x {use:g} ml/m² on {area_m2:g} m²."


def _exact(value: float) -> Decimal:
    """The decimal that was written, not the binary fraction next to it."""
    return Decimal(str(value))
