"""How times go by temperature, film and humidity, as pack files say it."""

from __future__ import annotations

from rules.kinetics import COLDEST_C, DAMPEST_PCT, HOTTEST_C
from rules.loading.kinetics import MOST_KJ_PER_MOL, MOST_TIMES, STEEPEST
from schemas import pack_files_fields as of


class ByTemperature(of.Thing):
    """The Arrhenius equation, by its activation energy or by the rule of ten degrees."""

    at_c = of.number("Where the minutes hold.", at_least=COLDEST_C, at_most=HOTTEST_C)
    activation_kj_per_mol = of.number(at_least=0, at_most=MOST_KJ_PER_MOL)
    times_per_10_k = of.number(
        "Instead of the activation energy: how many times as fast it is 10 K above `at_c`.",
        at_least=1,
        at_most=MOST_TIMES,
    )
    valid_c = of.list_of(
        of.number(required=True, at_least=COLDEST_C, at_most=HOTTEST_C),
        "The lowest and the highest temperature at which it is known.",
        least=2,
        unique=False,
    )


class ByFilm(of.Thing):
    at_um = of.number("The dry film of all coats for which the minutes hold.", True, at_least=1)
    exponent = of.number("The minutes rise with the film to this power.", True, at_least=0, at_most=STEEPEST)


class ByHumidity(of.Thing):
    """By how much vapour the air still takes up."""

    at_pct = of.number("Where the minutes hold.", True, at_least=0, at_most=DAMPEST_PCT)
    valid_pct = of.list_of(
        of.number(required=True, at_least=0, at_most=DAMPEST_PCT),
        "The lowest and the highest relative humidity at which it is known.",
        True,
        least=2,
        unique=False,
    )


class Drying(of.Thing):
    film = of.part(ByFilm)
    humidity = of.part(ByHumidity)


class Heat(of.Thing):
    up_k_per_min = of.number("From the air's temperature to that of the bake.", at_least=0.1, at_most=100)
    down_k_per_min = of.number("From the bake to the temperature for handling.", at_least=0.1, at_most=100)
    handling_c = of.number("30 when left out.", at_least=0, at_most=100)
    least_hold_min = of.number("The heat is kept for so long at least.", at_least=0, at_most=600)


class PotLife(ByTemperature):
    minutes = of.number("How long the batch can be used.", True, at_least=1)
    batch_ml = of.number("The batch for which the minutes hold.", True, at_least=1)
    batch_exponent = of.number("A larger batch lives shorter, by its size to this power.", True, 0, 1)
    source = of.text(required=True)
