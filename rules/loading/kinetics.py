"""Reads how times go by temperature, film and humidity, how a coating is baked, and pot lives."""

from __future__ import annotations

from rules.kinetics import (
    COLDEST_C,
    DAMPEST_PCT,
    HOTTEST_C,
    ByFilm,
    ByHumidity,
    ByTemperature,
    Heat,
    PotLife,
    activation_kj_per_mol,
)
from rules.loading.nodes import Node
from rules.loading.report import Report
from rules.loading.row import Row

BY_TEMPERATURE = ("at_c", "activation_kj_per_mol", "times_per_10_k", "valid_c")
MOST_KJ_PER_MOL = 500.0
MOST_TIMES = 10.0
STEEPEST = 4.0


def by_temperature_of(row: Row, report: Report) -> ByTemperature:
    """The members of a row that `BY_TEMPERATURE` names; one of the two ways to say how steep is wanted."""
    row.require("at_c", "valid_c", *() if "times_per_10_k" in row else ("activation_kj_per_mol",))
    at_c = row.number("at_c", 0.0, COLDEST_C, HOTTEST_C)
    valid = row.interval("valid_c", COLDEST_C, HOTTEST_C)
    if valid and "at_c" in row:
        _check_inside(row, "at_c", at_c, "valid_c", valid, report)
    low, high = valid or (at_c, at_c)
    return ByTemperature(at_c, _activation(row, at_c, report), low, high)


def by_film_of(node: Node | None, report: Report) -> ByFilm | None:
    """How a time goes by the dry film; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'film'", report, ("at_um", "exponent"))
    return ByFilm(row.number("at_um", at_least=1), row.number("exponent", at_least=0, at_most=STEEPEST))


def by_humidity_of(node: Node | None, report: Report) -> ByHumidity | None:
    """How a time goes by the humidity of the air; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'humidity'", report, ("at_pct", "valid_pct"))
    at_pct = row.number("at_pct", 0.0, 0, DAMPEST_PCT)
    valid = row.interval("valid_pct", 0, DAMPEST_PCT)
    if valid and "at_pct" in row:
        _check_inside(row, "at_pct", at_pct, "valid_pct", valid, report)
    return ByHumidity(at_pct, *(valid or (at_pct, at_pct)))


def drying_of(node: Node | None, report: Report) -> tuple[ByFilm | None, ByHumidity | None]:
    """What the waits after a class of material go by beside temperature."""
    if node is None:
        return None, None
    row = Row(node, "'drying'", report, (), ("film", "humidity"))
    if "film" not in row and "humidity" not in row:
        told = "'drying' says nothing; write 'film', 'humidity' or both, or take it away"
        report.add("R108", row.place, told)
    return by_film_of(row.node("film"), report), by_humidity_of(row.node("humidity"), report)


def heat_of(node: Node | None, report: Report) -> Heat | None:
    """How fast a bake warms up and cools; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'heat'", report, (), ("up_k_per_min", "down_k_per_min", "handling_c", "least_hold_min"))
    if "up_k_per_min" not in row and "down_k_per_min" not in row:
        told = "'heat' says nothing; write 'up_k_per_min', 'down_k_per_min' or both, or take it away"
        report.add("R108", row.place, told)
    return Heat(
        up_k_per_min=row.optional_number("up_k_per_min", 0.1, 100),
        down_k_per_min=row.optional_number("down_k_per_min", 0.1, 100),
        handling_c=row.number("handling_c", Heat.handling_c, 0, 100),
        least_hold_min=row.number("least_hold_min", Heat.least_hold_min, 0, 600),
    )


def pot_life_of(node: Node | None, report: Report) -> PotLife | None:
    """How long a mixed batch can be used; None where there is no node."""
    if node is None:
        return None
    row = Row(node, "'pot_life'", report, ("minutes", "batch_ml", "batch_exponent", "source"), BY_TEMPERATURE)
    return PotLife(
        minutes=row.number("minutes", at_least=1),
        batch_ml=row.number("batch_ml", at_least=1),
        batch_exponent=row.number("batch_exponent", at_least=0, at_most=1),
        by_temperature=by_temperature_of(row, report),
        source=row.text("source"),
    )


def _activation(row: Row, at_c: float, report: Report) -> float:
    times = row.number("times_per_10_k", 1.0, 1, MOST_TIMES)
    if "times_per_10_k" not in row:
        return row.number("activation_kj_per_mol", 0.0, 0, MOST_KJ_PER_MOL)
    if "activation_kj_per_mol" in row:
        told = "'activation_kj_per_mol' and 'times_per_10_k' say the same thing; take one away"
        report.add("R109", row.place_of("times_per_10_k"), told)
    return activation_kj_per_mol(times, at_c)


def _check_inside(
    row: Row, name: str, value: float, range_name: str, valid: tuple[float, float], report: Report
) -> None:
    low, high = valid
    # Not-a-number is at fault already, and lies neither below nor above.
    if value < low or value > high:
        told = f"'{name}' {value:g} lies outside '{range_name}' {low:g} to {high:g}"
        report.add("R106", row.place_of(name), f"{told}; widen the range or move '{name}'")
