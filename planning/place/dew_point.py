"""The place of work: whether moisture may condense on a surface that is to be coated."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from planning.job import Job
from planning.place.model import PlaceReport
from planning.rounding import tenth, tenth_down

LEAST_MARGIN_K = 3.0
"""ISO 8502-4 (from memory): a surface to be painted is normally at least 3 K above the dew point. The
standard speaks of steel; for plastics the same margin is common practice."""


def dew_point_c(air_temperature_c: float, relative_humidity_pct: float) -> float:
    """Dew point over water by the Magnus formula with 17.62 and 243.12 °C.

    Source: WMO-No. 8, Guide to Instruments and Methods of Observation; for -45 to 60 °C. Raises
    ValueError for a humidity not above zero, where there is no dew point.
    """
    if relative_humidity_pct <= 0:
        raise ValueError(f"relative humidity is {relative_humidity_pct} %; a dew point needs more than 0 %")
    # The quotient of a tiny humidity and 100 would be zero.
    saturation = log(relative_humidity_pct) - log(100)
    exponent = saturation + 17.62 * air_temperature_c / (243.12 + air_temperature_c)
    return 243.12 * exponent / (17.62 - exponent)


def place_report(job: Job, coating_stages: Sequence[str]) -> PlaceReport | None:
    """Dew point and surface margin for the stages that coat; None where nothing is coated or known."""
    air_c, humidity_pct = job.air_temperature_c, job.relative_humidity_pct
    if not coating_stages or air_c is None or not humidity_pct:
        return None
    dew_c = dew_point_c(air_c, humidity_pct)
    if job.surface_temperature_c is None:
        return PlaceReport(tuple(coating_stages), tenth(dew_c), None, None)
    margin_k = tenth_down(job.surface_temperature_c - dew_c)
    return PlaceReport(tuple(coating_stages), tenth(dew_c), margin_k, _warning(margin_k))


def _warning(margin_k: float) -> str | None:
    if margin_k >= LEAST_MARGIN_K:
        return None
    side = "above" if margin_k >= 0 else "below"
    return (
        f"The surface is {abs(margin_k):.1f} K {side} the dew point; do not coat unless it is at least "
        f"{LEAST_MARGIN_K:g} K above. Warm the part or dry the air, and measure again."
    )
