"""The cautions that a jurisdiction adds to a procedure, on top of those of rules and stages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from planning.emissions.model import Emissions
from planning.model import PlannedStage
from rules.jurisdictions import Jurisdiction

Asked = Mapping[str, tuple[str, ...]]
"""Caution -> who asks for it."""


def with_obligations(
    asked: Asked, stages: Sequence[PlannedStage], emissions: Emissions, chain: Sequence[Jurisdiction]
) -> tuple[Asked, tuple[PlannedStage, ...]]:
    """`asked` (caution to rules) and `stages` with the cautions that the jurisdictions of `chain` add.

    What a jurisdiction adds is asked for by it: `jurisdiction us-federal` stands where rules stand.
    """
    if not chain:
        return asked, tuple(stages)
    beside = _beside(chain)
    of_materials = _of_materials(emissions, chain)
    askers: dict[str, list[str]] = {name: list(rules) for name, rules in asked.items()}
    _note(askers, _added(beside, asked))
    ready = []
    for stage in stages:
        new = _added(beside, stage.cautions) + _added(of_materials, stage.materials)
        _note(askers, new)
        ready.append(_carrying(stage, new) if new else stage)
    return {name: tuple(by) for name, by in askers.items()}, tuple(ready)


Added = list[tuple[str, str]]
"""Cautions, each with who adds it."""


def _beside(chain: Sequence[Jurisdiction]) -> dict[str, Added]:
    """Caution -> the cautions that stand beside it."""
    beside: dict[str, Added] = {}
    for jurisdiction in chain:
        for caution, added in jurisdiction.adds.items():
            beside.setdefault(caution, []).extend((name, _named(jurisdiction)) for name in added)
    return beside


def _of_materials(emissions: Emissions, chain: Sequence[Jurisdiction]) -> dict[str, Added]:
    """Material over its limit -> the cautions of the jurisdiction whose limit that is."""
    places = {jurisdiction.id: jurisdiction for jurisdiction in chain}
    over = {each.mix.material: each.mix.held for each in emissions.mixes}
    return {
        material: [(caution, _named(place)) for caution in place.over_limit]
        for material, held in over.items()
        if held and held.over and (place := places[held.jurisdiction])
    }


def _added(table: Mapping[str, Added], keys: Iterable[str]) -> Added:
    return [each for key in keys if key in table for each in table[key]] if table else []


def _note(askers: dict[str, list[str]], added: Added) -> None:
    for name, by in added:
        known = askers.setdefault(name, [])
        if by not in known:
            known.append(by)


def _carrying(stage: PlannedStage, added: Added) -> PlannedStage:
    return replace(stage, cautions=tuple(dict.fromkeys((*stage.cautions, *(name for name, _ in added)))))


def _named(jurisdiction: Jurisdiction) -> str:
    return f"jurisdiction {jurisdiction.id}"
