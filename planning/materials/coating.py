"""Coatings from area and film.

A coating of V % volume solids covers 10 V / d square metres a litre at d µm dry film (theoretical spreading
rate, by units; volume solids as in ISO 3233). What is sprayed beside the part is lost, so the need is
area x film / (10 V x transfer efficiency).
"""

from __future__ import annotations


def coating_ml(
    area_m2: float, film_um: float, coats: int, volume_solids_pct: float, transfer_efficiency_pct: float
) -> float:
    """Millilitres of ready-to-spray coating for `coats` coats of `film_um` dry each, not rounded."""
    return area_m2 * film_um * coats * 10_000 / (volume_solids_pct * transfer_efficiency_pct)


def thinned_pct(volume_solids_pct: float, added_pct: float) -> float:
    """Volume solids after so many per cent of the volume were added that leave no film."""
    return volume_solids_pct * 100 / (100 + added_pct)


def wet_film_um(film_um: float, volume_solids_pct: float, added_pct: float = 0.0) -> float:
    """The wet film that dries to `film_um`: film x (100 + added) / solids; comb gauges show it (ISO 2808)."""
    return film_um * 100 / thinned_pct(volume_solids_pct, added_pct)
