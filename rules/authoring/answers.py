"""What a pack answers in every cell, as sets of cells: what people see, not which rules said it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from rules.pack import Disposition, ParameterValue, Stage
from rules.proof.domain import Domain
from rules.proof.outcomes import DISPOSITION, Outcomes
from rules.proof.parameters import catalogue_value, values_of
from rules.proof.space import CellSet


class Part(NamedTuple):
    """One part of an answer that a cell has or has not.

    `kind` is `disposition`, `stage`, `caution` or `parameter`; `name` the disposition, the stage, the
    caution, or `stage.parameter` with its `value`, which is None where the catalogue has none either.
    """

    kind: str
    name: str
    value: ParameterValue | None = None


Answers = Mapping[Part, CellSet]


def answers_of(outcomes: Outcomes, domain: Domain) -> dict[Part, CellSet]:
    """Every part that any answer can have, with the cells whose answers have it."""
    answers: dict[Part, CellSet] = {
        Part("disposition", each.value): outcomes.claimed(DISPOSITION, each) for each in Disposition
    }
    for stage in outcomes.pack.stages.values():
        present = answers[Part("stage", stage.id)] = outcomes.present(stage.id)
        for part, where in _parameters(outcomes, domain, stage):
            answers[part] = answers.get(part, domain.empty) | (where & present)
    answers |= {Part("caution", name): outcomes.warned(name) for name in outcomes.pack.cautions}
    return {part: where & outcomes.answered for part, where in answers.items()}


def unlike(left: Answers, right: Answers, empty: CellSet) -> Iterator[tuple[Part, CellSet, CellSet]]:
    """The parts whose cells are not the same on both sides, which are sets of one space."""
    for part in dict.fromkeys((*left, *right)):
        cells = left.get(part, empty), right.get(part, empty)
        if cells[0] != cells[1]:
            yield part, *cells


def _parameters(outcomes: Outcomes, domain: Domain, stage: Stage) -> Iterator[tuple[Part, CellSet]]:
    """The values of every parameter that the catalogue, the substrate or some rule gives."""
    rules = outcomes.pack.rules.values()
    by_rules = (name for rule in rules for owner, name in rule.settings if owner == stage.id)
    for parameter in dict.fromkeys((*stage.parameters, *stage.from_substrate, *by_rules)):
        for value, where in values_of(outcomes, domain, stage, parameter):
            told = catalogue_value(stage, parameter) if value is None else value
            yield Part("parameter", f"{stage.id}.{parameter}", told), where
