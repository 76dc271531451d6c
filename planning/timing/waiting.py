"""How long a stage waits, by the temperature at which it waits.

The rate of drying or curing follows the Arrhenius equation, k = A exp(-Ea / (R T)), so a wait of t0
at T0 becomes t0 exp(Ea/R (1/T - 1/T0)) at T (S. Arrhenius 1889; IUPAC Gold Book, "Arrhenius
equation"). It holds in a stated range only and is never carried beyond. Humidity is not reckoned
with: no published figure for it stands in the pack.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from planning.parameters import Parameters, number, written
from rules.pack import Kinetics, Wait

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Exact since 2019 (SI Brochure, 9th edition; CODATA 2018), given to ten digits."""

ZERO_CELSIUS_K = 273.15


@dataclass(frozen=True)
class Waiting:
    """Minutes to wait, and what people must know about the figure, or None."""

    minutes: float
    note: str | None = None


def waiting(wait: Wait, parameters: Parameters, air_temperature_c: float | None) -> Waiting:
    """The wait of a stage with these parameters in air of this temperature (None: not known).

    A `wait_min` parameter is taken as it stands. A `temperature_c` parameter, as of a bake, takes
    the place of the air's. Outside the validity range the wait is that at the edge of the range.
    """
    stated = number(parameters, "wait_min")
    if stated is not None:
        return Waiting(stated, _unscaled_note(wait))
    heated = number(parameters, "temperature_c")
    temperature_c = air_temperature_c if heated is None else heated
    if wait.minutes == 0 or temperature_c is None:
        return Waiting(wait.minutes)
    notes = [] if heated is None else [f"The wait is spent at {written(heated)} °C, whatever the air's."]
    if wait.kinetics is not Kinetics.FIXED:
        notes += _edge_note(wait, temperature_c)
    return Waiting(scaled_min(wait, temperature_c), " ".join(notes) or None)


def scaled_min(wait: Wait, temperature_c: float) -> float:
    """Minutes at `temperature_c`, taken at the edge of the validity range when outside it."""
    if wait.kinetics is Kinetics.FIXED:
        return wait.minutes
    inside_c = min(max(temperature_c, wait.valid_from_c), wait.valid_to_c)
    inverse_k = 1 / (inside_c + ZERO_CELSIUS_K) - 1 / (wait.at_c + ZERO_CELSIUS_K)
    return wait.minutes * exp(1000 * wait.activation_kj_per_mol / GAS_CONSTANT_J_PER_MOL_K * inverse_k)


def _unscaled_note(wait: Wait) -> str | None:
    if wait.kinetics is Kinetics.FIXED:
        return None
    return "The wait is set for these conditions and not scaled with temperature."


def _edge_note(wait: Wait, temperature_c: float) -> list[str]:
    low, high = wait.valid_from_c, wait.valid_to_c
    if low <= temperature_c <= high:
        return []
    edge, consequence = (low, "expect longer") if temperature_c < low else (high, "do not shorten it")
    return [
        f"{written(temperature_c)} °C is outside {written(low)} to {written(high)} °C, where the wait is "
        f"known; it is taken at {written(edge)} °C: {consequence}."
    ]
