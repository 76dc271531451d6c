"""What the rates of a line item say that the pack, or the currency, has no word for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Any

from planning.costs.money import CurrencyUnknown, currencies, minor_digits
from planning.costs.new_part import SENSORS, SUPPLIED_AS
from rules.intake import FactFault
from rules.pack import Pack
from schemas.faults import pointer

_RATES = "/rates"
_LUMP_SUMS = ("replacement_part", "replacement_disposal")
_FOREIGN = {
    "labour_per_hour": "is not a labour category",
    "replacement_fit_hours": "is not a labour category",
    "repair_fit_hours": "is not a labour category",
    "materials": "is not a material",
    "sensor_calibration": "is not a feature with a sensor",
}


def names_in_rates(pack: Pack) -> dict[str, tuple[str, ...]]:
    """The members of the rates that are named by data, and the names that mean something."""
    mixed = (component.id for material in pack.materials.values() for component in material.mix)
    sensors = tuple(sensor for sensor in SENSORS if sensor in pack.vocabulary)
    return {
        "labour_per_hour": pack.labour,
        "replacement_fit_hours": pack.labour,
        "repair_fit_hours": pack.labour,
        "materials": tuple(dict.fromkeys((*pack.materials, *mixed))),
        "sensor_calibration": sensors,
    }


def ways_of_supply(pack: Pack) -> tuple[str, ...]:
    """How a new part may be supplied."""
    return tuple(pack.vocabulary[SUPPLIED_AS].values) if SUPPLIED_AS in pack.vocabulary else ()


def faults_of_charges(rates: Mapping[str, Any] | None, pack: Pack) -> Iterator[FactFault]:
    """Every name in the rates that means nothing, and every amount that the currency cannot pay."""
    if rates is None:
        return
    for member, known in names_in_rates(pack).items():
        for name, value in (rates.get(member) or {}).items():
            if name not in known:
                yield FactFault(name, pointer(f"{_RATES}/{member}", name), value, _FOREIGN[member], known)
    supplied_as, ways = rates.get("replacement_supplied_as"), ways_of_supply(pack)
    if supplied_as is not None and supplied_as not in ways:
        at = f"{_RATES}/replacement_supplied_as"
        yield FactFault(SUPPLIED_AS, at, supplied_as, "is not a way in which new parts are supplied", ways)
    yield from _of_money(rates)


def _of_money(rates: Mapping[str, Any]) -> Iterator[FactFault]:
    """An unknown currency, or sums that are not whole in its smallest unit."""
    currency = rates["currency"]
    try:
        digits = minor_digits(currency)
    except CurrencyUnknown:
        detail = "is no currency of ISO 4217 that prices are written in"
        near = tuple(get_close_matches(currency, currencies(), n=3))
        yield FactFault("currency", f"{_RATES}/currency", currency, detail, near)
        return
    sums = [(f"{_RATES}/{member}", rates.get(member)) for member in _LUMP_SUMS]
    sums += [
        (pointer(f"{_RATES}/sensor_calibration", name), price)
        for name, price in (rates.get("sensor_calibration") or {}).items()
    ]
    for place, amount in sums:
        if amount is not None and amount != round(amount, digits):
            told = f"has more decimals than {currency}, which has {digits}; round it"
            yield FactFault(place.rpartition("/")[2], place, amount, told)
