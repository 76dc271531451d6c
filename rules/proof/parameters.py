"""The values that a stage's parameter takes, and where: of the substrate, of rules, or of the catalogue."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rules.pack import Kinetics, ParameterValue, Stage
from rules.proof.domain import Domain
from rules.proof.outcomes import Outcomes
from rules.proof.space import CellSet


def values_of(
    outcomes: Outcomes, domain: Domain, stage: Stage, parameter: str
) -> Iterator[tuple[ParameterValue | None, CellSet]]:
    """Each value with its cells, whether the stage is present or not; None: as the catalogue has it."""
    fact = stage.from_substrate.get(parameter)
    if fact is not None:
        for value in dict.fromkeys(row.values[fact] for row in domain.rows):
            yield value, domain.of_materials(fact, value)
        return
    subject = ("parameter", stage.id, parameter)
    for value in outcomes.values_of(subject):
        yield value, outcomes.claimed(subject, value)
    yield None, outcomes.unclaimed(subject)


def catalogue_value(stage: Stage, parameter: str) -> ParameterValue | None:
    """What the catalogue says of a parameter, or of a wait or window that is not set (infinite: open).

    None for a wait that goes by the temperature: it has no one value. Of a window that does, the value is
    that at the temperature which the catalogue states.
    """
    if parameter in stage.parameters:
        return stage.parameters[parameter]
    if parameter == "wait_min":
        fixed = stage.wait.kinetics is Kinetics.FIXED and stage.wait.heat is None
        return stage.wait.minutes if fixed else None
    window = stage.window
    if window is None or parameter not in ("not_before_min", "not_after_min"):
        return None
    closes = inf if window.not_after_min is None else window.not_after_min
    return window.not_before_min if parameter == "not_before_min" else closes
