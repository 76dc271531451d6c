"""How times change with temperature, film and humidity, and how coatings are baked, as a pack states it."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Exact since 2019 (SI Brochure, 9th edition; CODATA 2018), given to ten digits."""

ZERO_CELSIUS_K = 273.15

COLDEST_C, HOTTEST_C = -60.0, 400.0
"""No work is done beyond, and nothing is reckoned there."""

DAMPEST_PCT = 95.0
"""In saturated air water does not dry; nothing is reckoned nearer to it than this."""


@dataclass(frozen=True)
class ByTemperature:
    """A time that holds at `at_c` and goes by the Arrhenius equation from `valid_from_c` to `valid_to_c`."""

    at_c: float
    activation_kj_per_mol: float
    valid_from_c: float
    valid_to_c: float


@dataclass(frozen=True)
class ByFilm:
    """A time that holds for a dry film of `at_um` in all and rises with its thickness to `exponent`."""

    at_um: float
    exponent: float


@dataclass(frozen=True)
class ByHumidity:
    """A time that holds at the relative humidity `at_pct` and goes by how much vapour the air still takes up.

    It is known from `valid_from_pct` to `valid_to_pct`.
    """

    at_pct: float
    valid_from_pct: float
    valid_to_pct: float


@dataclass(frozen=True)
class Heat:
    """Forced drying: the surface is warmed, kept at the stage's `temperature_c`, and left to cool.

    A rate that is None takes no time. Cooling ends at `handling_c`. The heat is kept for `least_hold_min`
    however fast the cure may be: what a rate at 20 °C says of a bake is a guess, and solvent must leave too.
    """

    up_k_per_min: float | None = None
    down_k_per_min: float | None = None
    handling_c: float = 30.0
    least_hold_min: float = 0.0


@dataclass(frozen=True)
class PotLife:
    """How long a mixed batch of `batch_ml` can be used; `source` says where the figures come from.

    A larger batch warms itself and lives shorter, by its size to `batch_exponent`.
    """

    minutes: float
    batch_ml: float
    batch_exponent: float
    by_temperature: ByTemperature
    source: str


def activation_kj_per_mol(times_per_10_k: float, at_c: float) -> float:
    """The activation energy with which a rate rises so many times from `at_c` to 10 K above.

    The rule of ten degrees as a case of the Arrhenius equation: R ln(times) / (1/T - 1/(T + 10)).
    """
    inverse_k = 1 / (at_c + ZERO_CELSIUS_K) - 1 / (at_c + 10 + ZERO_CELSIUS_K)
    return GAS_CONSTANT_J_PER_MOL_K * log(times_per_10_k) / inverse_k / 1000
