"""Reads how long a stage takes, how long it waits, and the window that it opens."""

from __future__ import annotations

from rules.kinetics import ByTemperature
from rules.loading.difficulty import harder_of
from rules.loading.kinetics import BY_TEMPERATURE, by_film_of, by_humidity_of, by_temperature_of, heat_of
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.report import Report
from rules.loading.row import Row
from rules.pack import Kinetics, Wait, Window, Work


def work_of(node: Node | None, known: Known, report: Report) -> Work:
    """Hands-on time; none where there is no node, which is reported elsewhere."""
    if node is None:
        return Work(0.0)
    terms = ("per_m2_min", "per_dm_min", "applying_min", "spread", "harder")
    row = Row(node, "'work'", report, ("fixed_min",), terms)
    fixed_min = row.number("fixed_min", at_least=0)
    return Work(
        fixed_min=fixed_min,
        per_m2_min=row.number("per_m2_min", Work.per_m2_min, at_least=0),
        per_dm_min=row.number("per_dm_min", Work.per_dm_min, at_least=0),
        spread=row.number("spread", Work.spread, at_least=0, at_most=2),
        harder=harder_of(row, known, report),
        applying_min=row.number("applying_min", Work.applying_min, at_least=0, at_most=fixed_min),
    )


def wait_of(node: Node | None, report: Report) -> Wait:
    """The time before a dependent stage may start; none where there is no node."""
    if node is None:
        return Wait(0.0)
    terms = ("kinetics", *BY_TEMPERATURE, "film", "humidity", "heat")
    row = Row(node, "'wait'", report, ("minutes",), terms)
    minutes = row.number("minutes", at_least=0)
    kinetics = row.choice("kinetics", Kinetics) or Kinetics.FIXED
    heat = heat_of(row.node("heat"), report)
    if kinetics is Kinetics.FIXED:
        _check_fixed(row, report)
        return Wait(minutes, heat=heat)
    by_temperature = by_temperature_of(row, report)
    return Wait(
        minutes=minutes,
        at_c=by_temperature.at_c,
        kinetics=kinetics,
        activation_kj_per_mol=by_temperature.activation_kj_per_mol,
        valid_from_c=by_temperature.valid_from_c,
        valid_to_c=by_temperature.valid_to_c,
        by_film=by_film_of(row.node("film"), report),
        by_humidity=by_humidity_of(row.node("humidity"), report),
        heat=heat,
    )


def window_of(node: Node | None, known: Known, report: Report) -> Window | None:
    """The window that a stage opens; None where there is no node."""
    if node is None:
        return None
    bounds = ("to", "not_before_min", "not_after_min", "if_missed")
    row = Row(node, "'window'", report, bounds, (*BY_TEMPERATURE, "source"))
    window = Window(
        to=row.references("to", "stage", known.stage_names, "R116", least=1),
        not_before_min=row.number("not_before_min", at_least=0),
        not_after_min=row.optional_number("not_after_min", at_least=0),
        if_missed=row.optional_reference("if_missed", "stage", known.stage_names, "R116"),
        by_temperature=_by_temperature(row, report),
        source=row.text("source"),
    )
    if window.not_after_min is not None and window.not_before_min > window.not_after_min:
        told = f"'not_before_min' {window.not_before_min:g} is above 'not_after_min'"
        report.add("R127", row.place_of("not_before_min"), f"{told} {window.not_after_min:g}; exchange them")
    return window


def _by_temperature(row: Row, report: Report) -> ByTemperature | None:
    """How the bounds of a window go by temperature; None where nothing is said of it."""
    return by_temperature_of(row, report) if any(name in row for name in BY_TEMPERATURE) else None


def _check_fixed(row: Row, report: Report) -> None:
    """Report terms of a wait that is fixed: they would change nothing.

    Those of temperature may stay, so that an overlay fixes a wait with one word.
    """
    for name in ("at_c", "activation_kj_per_mol", "times_per_10_k"):
        row.number(name)
    row.interval("valid_c")
    for name in ("film", "humidity"):
        if name in row:
            told = f"a fixed wait has no '{name}'"
            fix = "write 'kinetics: evaporation' or 'kinetics: cure', or take it away"
            report.add("R101", row.place_of(name), f"{told}; {fix}")
