"""What a wait goes by beside its own figures: place, film, and how much heat the plastic takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from planning.parameters import Parameters, number, written
from planning.place.air import Air
from rules.conditions import Value
from rules.pack import Kinetics, Material, ParameterValue, Stage
from rules.same import Same

HEAT_LIMIT = "bake_limit_c"
"""The property of a substrate above which it is not warmed."""


@dataclass(frozen=True)
class Conditions:
    """Air and humidity at a stage, its dry film in all, and how warm the part may get; None: not known."""

    air_c: float | None = None
    humidity_pct: float | None = None
    film_um: float | None = None
    heat_limit_c: float | None = None


NOTHING_KNOWN = Conditions()


def conditions_of(
    stage: Stage,
    parameters: Parameters,
    air: Air,
    materials: Mapping[str, Material],
    properties: Mapping[str, Value],
) -> Conditions:
    """The conditions of one stage in `air` on a substrate with these properties."""
    limit = properties.get(HEAT_LIMIT)
    return Conditions(
        air_c=air.air_c,
        humidity_pct=fit_humidity_pct(stage, air.humidity_pct, materials),
        film_um=film_um(stage, parameters, materials),
        heat_limit_c=float(limit) if isinstance(limit, (int, float)) else None,
    )


def fit_humidity_pct(
    stage: Stage, humidity_pct: float | None, materials: Mapping[str, Material]
) -> float | None:
    """The humidity in which a stage waits: it is not begun before the air is dry enough for its materials."""
    applications = [materials[name].application for name in stage.materials]
    bounds = [application.humidity_pct[1] for application in applications if application]
    return None if humidity_pct is None else min([humidity_pct, *bounds])


def film_um(stage: Stage, parameters: Parameters, materials: Mapping[str, Material]) -> float | None:
    """Dry film of all coats that a stage puts on; None where it applies no coating of a known film."""
    films = [materials[name].film_um for name in stage.materials]
    known = [film for film in films if film is not None]
    coats = number(parameters, "coats")
    return sum(known) * (1.0 if coats is None else coats) if known else None


def with_terms_of_materials(stage: Stage, materials: Mapping[str, Material]) -> Stage:
    """The stage, its wait going by film and humidity as its materials do where it does not say so itself.

    The first of its materials that says so counts. A fixed wait goes by nothing. Neither `stage` nor
    `materials` may change.
    """
    return stage if stage.wait.kinetics is Kinetics.FIXED else _with_terms(Same(stage), Same(materials))


@lru_cache(maxsize=4096)
def _with_terms(same_stage: Same[Stage], same_materials: Same[Mapping[str, Material]]) -> Stage:
    stage, materials = same_stage.it, same_materials.it
    wait = stage.wait
    used = [materials[name] for name in stage.materials]
    films = (wait.by_film, *(material.by_film for material in used))
    humidities = (wait.by_humidity, *(material.by_humidity for material in used))
    by_film = next((each for each in films if each), None)
    by_humidity = next((each for each in humidities if each), None)
    return replace(stage, wait=replace(wait, by_film=by_film, by_humidity=by_humidity))


def within_heat_limit(
    parameters: Mapping[str, ParameterValue], limit_c: float | None
) -> tuple[Mapping[str, ParameterValue], str | None]:
    """The parameters with no `temperature_c` above the limit of the plastic, and what is told of it."""
    heated_c = number(parameters, "temperature_c")
    if heated_c is None or limit_c is None or heated_c <= limit_c:
        return parameters, None
    told = (
        f"{written(heated_c)} °C is asked for, but the plastic is not to be warmed above {written(limit_c)} "
        f"°C (its `{HEAT_LIMIT}`); it is taken at that."
    )
    return {**parameters, "temperature_c": limit_c}, told
