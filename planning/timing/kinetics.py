"""How much longer or shorter a time is than stated: by temperature, dry film and humidity.

The rate of drying or curing follows the Arrhenius equation, k = A exp(-Ea / (R T)), so that a time t0 at
T0 becomes t0 exp(Ea/R (1/T - 1/T0)) at T (S. Arrhenius 1889; IUPAC Gold Book, "Arrhenius equation"). Water
evaporates in proportion to the vapour that the air still takes up at its temperature (J. Dalton 1802), so
that a time goes by (100 - RH0) / (100 - RH). A solvent finds its way out of a film by diffusion, whose time
goes by the square of the path (J. Crank, The Mathematics of Diffusion, 1975, from memory); the power is data.

Each is known in a range. Outside, a least time is the longer and a greatest time the shorter of two values:
that at the edge of the range, and that which the equation gives.
"""

from __future__ import annotations

from math import exp

from rules.kinetics import (
    COLDEST_C,
    DAMPEST_PCT,
    GAS_CONSTANT_J_PER_MOL_K,
    HOTTEST_C,
    ZERO_CELSIUS_K,
    ByFilm,
    ByHumidity,
    ByTemperature,
)


def arrhenius(term: ByTemperature, temperature_c: float) -> float:
    """The time at `temperature_c` as a multiple of that at `term.at_c`; beyond any range, too."""
    inverse_k = 1 / _kelvin(temperature_c) - 1 / _kelvin(term.at_c)
    return exp(1000 * term.activation_kj_per_mol / GAS_CONSTANT_J_PER_MOL_K * inverse_k)


def at_least(term: ByTemperature, temperature_c: float) -> float:
    """The multiple for a least time: never shorter than at the edge of the range."""
    return max(arrhenius(term, temperature_c), arrhenius(term, _inside(term, temperature_c)))


def at_most(term: ByTemperature, temperature_c: float) -> float:
    """The multiple for a greatest time: never longer than at the edge of the range."""
    return min(arrhenius(term, temperature_c), arrhenius(term, _inside(term, temperature_c)))


def by_film(term: ByFilm, film_um: float) -> float:
    """The time for a dry film of `film_um` in all as a multiple of that for `term.at_um`."""
    return float((film_um / term.at_um) ** term.exponent)


def by_humidity(term: ByHumidity, humidity_pct: float) -> float:
    """The multiple for a least time in air of this humidity.

    In saturated air nothing would dry at all; more than 95 % is taken as 95 %.
    """
    reckoned_pct = min(max(humidity_pct, term.valid_from_pct), DAMPEST_PCT)
    return (100 - term.at_pct) / (100 - reckoned_pct)


def _inside(term: ByTemperature, temperature_c: float) -> float:
    return min(max(temperature_c, term.valid_from_c), term.valid_to_c)


def _kelvin(temperature_c: float) -> float:
    """No colder and no hotter than any work is done."""
    return min(max(temperature_c, COLDEST_C), HOTTEST_C) + ZERO_CELSIUS_K
