"""Coated abrasives by P-grade: which grade takes out another's scratches, and which film hides them.

Sizes, limits and their sources stand in `data/abrasives.yaml`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import yaml

TABLE = Path(__file__).parent / "data" / "abrasives.yaml"


class UnknownGrade(ValueError):
    """Not a P-grade of the table."""

    def __init__(self, grade: str) -> None:
        meant = f"P{grade.strip().upper().lstrip('P')}"
        known = tuple(_table().particle_um)
        fix = f"write '{meant}'" if meant in known else f"P-grades run from {known[0]} to {known[-1]}"
        super().__init__(f"'{grade}' is not a P-grade; {fix}")


@dataclass(frozen=True)
class Step:
    """From one abrasive to the next on the same surface; `ratio` is above 1 when the next is finer."""

    first: str
    next: str
    ratio: float


@dataclass(frozen=True)
class _Table:
    particle_um: Mapping[str, float]
    step_ratio: float
    scratch_per_particle: float
    film_per_scratch: float


@cache
def _table() -> _Table:
    data = yaml.safe_load(TABLE.read_text(encoding="utf-8"))
    sizes = {grade: float(um) for group in data["grades"] for grade, um in group["particle_um"].items()}
    limits = data["limits"]
    return _Table(sizes, limits["step_ratio"], limits["scratch_per_particle"], limits["film_per_scratch"])


def grades() -> tuple[str, ...]:
    """Every P-grade of the table, coarsest first."""
    return tuple(_table().particle_um)


def particle_size_um(grade: str) -> float:
    """Mean particle size of a P-grade such as `P180`. Raises UnknownGrade."""
    size = _table().particle_um.get(grade)
    if size is None:
        raise UnknownGrade(grade)
    return size


def step_ratio(first: str, following: str) -> float:
    """How many times as large the particles of `first` are. Raises UnknownGrade."""
    return particle_size_um(first) / particle_size_um(following)


def steps_too_far(sequence: Sequence[str]) -> list[Step]:
    """The steps after which scratches of the coarser abrasive stay in the surface.

    `sequence` holds the abrasives used one after another on one surface: a new coat or filling
    starts a new sequence. Going back to a coarser grade is never too far. Raises UnknownGrade.
    """
    steps = [Step(first, following, step_ratio(first, following)) for first, following in pairwise(sequence)]
    return [step for step in steps if step.ratio > _table().step_ratio]


def film_to_hide_um(grade: str) -> float:
    """The thinnest dry film that hides the scratches of a P-grade. Raises UnknownGrade."""
    table = _table()
    return particle_size_um(grade) * table.scratch_per_particle * table.film_per_scratch
