"""Cross-cut adhesion classes of ISO 2409 and of ASTM D3359 method B, which run in opposite directions.

Areas: ASTM D3359 as printed at http://pslc.ws/ret2003/adtable.html; ISO 2409 from memory, the same.
"""

from __future__ import annotations

AREA_UP_TO_PCT = (0.0, 5.0, 15.0, 35.0, 65.0, 100.0)
"""The largest part of the lattice that has come off, for ISO 2409 classes 0 (best) to 5 (worst)."""

WORST = len(AREA_UP_TO_PCT) - 1


def astm_d3359_class(iso_2409_class: int) -> str:
    """`5B` (best) to `0B` for ISO classes 0 to 5. Raises ValueError for any other number."""
    if iso_2409_class not in range(WORST + 1):
        raise ValueError(f"{iso_2409_class} is not a class of ISO 2409; those are 0 (best) to {WORST}")
    return f"{WORST - iso_2409_class}B"


def iso_2409_class(astm_d3359_class: str) -> int:
    """0 (best) to 5 for ASTM classes `5B` to `0B`. Raises ValueError for any other text."""
    digit, method = astm_d3359_class[:-1], astm_d3359_class[-1:]
    if method != "B" or digit not in {str(number) for number in range(WORST + 1)}:
        told = f"'{astm_d3359_class}' is not a class of ASTM D3359 method B; those are '5B' (best) to '0B'"
        raise ValueError(told)
    return WORST - int(digit)


def iso_2409_class_of(area_off_pct: float) -> int:
    """The ISO 2409 class for the part of the lattice that has come off, in percent.

    Raises ValueError outside 0 to 100.
    """
    if not 0 <= area_off_pct <= 100:
        raise ValueError(f"{area_off_pct:g} % is not part of a lattice; give 0 to 100")
    return next(number for number, up_to in enumerate(AREA_UP_TO_PCT) if area_off_pct <= up_to)
