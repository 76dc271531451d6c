"""What people are told of a bound that is broken, and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping

from planning.place.breaches import Breach
from planning.place.model import Measure
from planning.rounding import tenth_down, tenth_up
from rules.pack import Stage

_SUBJECTS = {
    Measure.AIR: ("air", "°C"),
    Measure.SURFACE: ("surface", "°C"),
    Measure.HUMIDITY: ("relative humidity", "%"),
}
_REMEDIES = {
    (Measure.AIR, True): "Warm the place",
    (Measure.AIR, False): "Cool the place",
    (Measure.SURFACE, True): "Warm the part",
    (Measure.SURFACE, False): "Let the part cool",
    (Measure.HUMIDITY, True): "Let fresh air in",
    (Measure.HUMIDITY, False): "Dry the air",
}


def told(breach: Breach, surface_c: tuple[float, float], stages: Mapping[str, Stage]) -> str:
    """The state, the bound and the remedy in whole sentences; `surface_c` is how warm the part may be."""
    finding = _finding(breach)
    before = "" if breach.after is None else f"after '{stages[breach.after].title}' "
    finding = _capital(before + finding)
    if breach.mended_by is not None:
        return f"{finding} '{stages[breach.mended_by].title}' comes first and mends this."
    return f"{finding} {_remedy(breach, surface_c)}, and measure again before you begin."


def _finding(breach: Breach) -> str:
    bound = breach.bound
    wanted = f"at {'least' if bound.lowest else 'most'} {bound.value:g}"
    if bound.measure is not Measure.DEW_MARGIN:
        subject, unit = _SUBJECTS[bound.measure]
        return f"the {subject} is {breach.value:g} {unit}, {wanted} {unit} is wanted."
    side = "above" if breach.value >= 0 else "below"
    dew_c = breach.air.dew_c
    point = "the dew point" if dew_c is None else f"the dew point of {dew_c:.1f} °C"
    return f"the surface is {abs(breach.value):g} K {side} {point}, {wanted} K above it is wanted."


def _remedy(breach: Breach, surface_c: tuple[float, float]) -> str:
    bound, air = breach.bound, breach.air
    if bound.measure is not Measure.DEW_MARGIN:
        _, unit = _SUBJECTS[bound.measure]
        far = "at least" if bound.lowest else "at most"
        return f"{_REMEDIES[bound.measure, bound.lowest]} to {far} {bound.value:g} {unit}"
    if air.surface_c is None or air.dew_c is None:
        return "Warm the part or dry the air"
    dry = f"dry the air until its dew point is {tenth_down(air.surface_c - bound.value):g} °C or less"
    coldest_c, warmest_c = surface_c
    warm_c = max(tenth_up(air.dew_c + bound.value), coldest_c)
    return _capital(dry) if warm_c > warmest_c else f"Warm the part to {warm_c:g} °C or more, or {dry}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
