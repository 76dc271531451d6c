"""Dew point and humidity of air, by the Magnus formula over water.

Source: WMO-No. 8, Guide to Instruments and Methods of Observation, constants 17.62 and 243.12 °C, 6.112
hPa at 0 °C; for -45 to 60 °C.
"""

from __future__ import annotations

from math import exp, log

_SLOPE = 17.62
_OFFSET_C = 243.12
_AT_ZERO_HPA = 6.112


def dew_point_c(air_temperature_c: float, relative_humidity_pct: float) -> float:
    """Dew point in degrees Celsius. Raises ValueError for a humidity not above zero: there is none."""
    if relative_humidity_pct <= 0:
        raise ValueError(f"relative humidity is {relative_humidity_pct} %; a dew point needs more than 0 %")
    # The quotient of a tiny humidity and 100 would be zero.
    saturation = log(relative_humidity_pct) - log(100)
    exponent = saturation + _exponent(air_temperature_c)
    return _OFFSET_C * exponent / (_SLOPE - exponent)


def saturation_hpa(temperature_c: float) -> float:
    """Pressure of the vapour in saturated air, in hectopascals."""
    return _AT_ZERO_HPA * exp(_exponent(temperature_c))


def relative_humidity_pct(air_temperature_c: float, dew_c: float) -> float:
    """Relative humidity of air with this dew point, in per cent: 100 where it is not below the air's.

    Air that is warmed or cooled at the same pressure keeps its dew point; cooled below it, the air is
    saturated and sheds the rest as water.
    """
    return min(100.0, 100 * exp(_exponent(dew_c) - _exponent(air_temperature_c)))


def _exponent(temperature_c: float) -> float:
    return _SLOPE * temperature_c / (_OFFSET_C + temperature_c)
