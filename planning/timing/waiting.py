"""How long a stage waits: by temperature, film and humidity, and in a bake."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planning.parameters import Parameters, number, written
from planning.rounding import tenth_up
from planning.timing.conditions import Conditions
from planning.timing.kinetics import at_least, by_film, by_humidity
from planning.timing.model import Bake
from rules.kinetics import DAMPEST_PCT, ByHumidity, ByTemperature, Heat
from rules.pack import Kinetics, Wait

_KNOWN = "where the wait is known"


@dataclass(frozen=True)
class Waiting:
    """Minutes to wait, what people must know about the figure, and the bake that it is spent in, or None."""

    minutes: float
    note: str | None = None
    bake: Bake | None = None


_NONE = Waiting(0.0)


def waiting(wait: Wait, parameters: Parameters, conditions: Conditions) -> Waiting:
    """The wait of a stage with these parameters.

    A `wait_min` parameter is taken as it stands. A `temperature_c` parameter, as of a bake, takes
    the place of the air's. Outside a validity range the wait is the longer of that at the edge and that
    which the equation gives.
    """
    stated = number(parameters, "wait_min")
    if stated is not None:
        return Waiting(stated, _unscaled_note(wait))
    if wait.minutes == 0 and wait.heat is None:
        return _NONE
    heated = number(parameters, "temperature_c")
    notes = [*_notes(wait, heated, conditions)]
    hold_min = held_min(wait, conditions.air_c if heated is None else heated, conditions)
    if wait.heat is None or heated is None:
        return Waiting(hold_min, " ".join(notes) or None)
    bake = _bake(wait.heat, heated, max(hold_min, wait.heat.least_hold_min), conditions)
    minutes = bake.heat_up_min + bake.hold_min + bake.cool_down_min
    return Waiting(minutes, " ".join(notes) or None, bake)


def held_min(wait: Wait, temperature_c: float | None, conditions: Conditions) -> float:
    """Minutes at `temperature_c`, without warming up and cooling; what is not known changes nothing."""
    minutes = wait.minutes
    if wait.by_temperature and temperature_c is not None:
        minutes *= at_least(wait.by_temperature, temperature_c)
    if wait.by_film and conditions.film_um is not None:
        minutes *= by_film(wait.by_film, conditions.film_um)
    if wait.by_humidity and conditions.humidity_pct is not None:
        minutes *= by_humidity(wait.by_humidity, conditions.humidity_pct)
    return minutes


def heat_up_min(heat: Heat, to_c: float, from_c: float | None) -> float:
    """Minutes from the air's temperature to that of the bake; from 20 °C where it is not known."""
    if heat.up_k_per_min is None:
        return 0.0
    return max(0.0, to_c - (20.0 if from_c is None else from_c)) / heat.up_k_per_min


def cool_down_min(heat: Heat, from_c: float) -> float:
    """Minutes from the bake to the temperature at which the part may be handled."""
    return max(0.0, from_c - heat.handling_c) / heat.down_k_per_min if heat.down_k_per_min else 0.0


def _bake(heat: Heat, heated_c: float, hold_min: float, conditions: Conditions) -> Bake:
    return Bake(
        temperature_c=heated_c,
        heat_up_min=tenth_up(heat_up_min(heat, heated_c, conditions.air_c)),
        hold_min=tenth_up(hold_min),
        cool_down_min=tenth_up(cool_down_min(heat, heated_c)),
    )


def _unscaled_note(wait: Wait) -> str | None:
    if wait.kinetics is Kinetics.FIXED:
        return None
    return "The wait is set for these conditions and not scaled with temperature."


def _notes(wait: Wait, heated_c: float | None, conditions: Conditions) -> Iterator[str]:
    """What is to be known of the figure, in sentences."""
    if wait.minutes == 0:
        return
    if heated_c is not None:
        yield f"The wait is spent at {written(heated_c)} °C, whatever the air's."
    temperature_c = conditions.air_c if heated_c is None else heated_c
    if wait.by_temperature and temperature_c is not None:
        yield from _temperature_note(wait.by_temperature, temperature_c)
    if wait.by_humidity and conditions.humidity_pct is not None:
        yield from _humidity_note(wait.by_humidity, conditions.humidity_pct)


def _temperature_note(term: ByTemperature, temperature_c: float) -> Iterator[str]:
    low, high = term.valid_from_c, term.valid_to_c
    outside = f"{written(temperature_c)} °C is outside {written(low)} to {written(high)} °C, {_KNOWN}"
    if temperature_c < low:
        yield f"{outside}; it is reckoned on below that and may be longer still."
    elif temperature_c > high:
        yield f"{outside}; it is taken at {written(high)} °C: do not shorten it."


def _humidity_note(term: ByHumidity, humidity_pct: float) -> Iterator[str]:
    low, high = term.valid_from_pct, term.valid_to_pct
    outside = f"{humidity_pct:.0f} % humidity is outside {written(low)} to {written(high)} %, {_KNOWN}"
    if humidity_pct < low:
        yield f"{outside}; it is taken at {written(low)} %: do not shorten it."
    elif humidity_pct > high:
        most = (
            f", at {DAMPEST_PCT:g} % at most: in saturated air nothing dries"
            if humidity_pct > DAMPEST_PCT
            else ""
        )
        yield f"{outside}; it is reckoned on above that{most}. Dry the air."
