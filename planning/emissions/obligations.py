"""The cautions that a jurisdiction adds to a procedure, on top of those of rules and stages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from planning.emissions.model import AssessedMix
from rules.jurisdictions import Jurisdiction
from rules.pack import Stage

Asked = Mapping[str, tuple[str, ...]]
"""Caution -> who asks for it."""

Carried = Mapping[str, tuple[str, ...]]
"""Stage -> the cautions that it carries."""


def with_obligations(
    asked: Asked, stages: Iterable[Stage], mixes: Iterable[AssessedMix], chain: Sequence[Jurisdiction]
) -> tuple[Asked, Carried]:
    """`asked` (caution to rules) and what `stages` carry, with what the jurisdictions of `chain` add.

    What a jurisdiction adds is asked for by it: `jurisdiction us-federal` stands where rules stand.
    """
    beside = _beside(chain)
    of_materials = _of_materials(mixes, chain)
    askers: dict[str, list[str]] = {name: list(rules) for name, rules in asked.items()}
    _note(askers, _added(beside, asked))
    carried: dict[str, tuple[str, ...]] = {}
    for stage in stages:
        new = _added(beside, stage.cautions) + _added(of_materials, stage.materials)
        _note(askers, new)
        carried[stage.id] = _with(stage.cautions, new)
    return {name: tuple(by) for name, by in askers.items()}, carried


Added = list[tuple[str, str]]
"""Cautions, each with who adds it."""


def _beside(chain: Sequence[Jurisdiction]) -> dict[str, Added]:
    """Caution -> the cautions that stand beside it."""
    beside: dict[str, Added] = {}
    for jurisdiction in chain:
        for caution, added in jurisdiction.adds.items():
            beside.setdefault(caution, []).extend((name, _named(jurisdiction)) for name in added)
    return beside


def _of_materials(mixes: Iterable[AssessedMix], chain: Sequence[Jurisdiction]) -> dict[str, Added]:
    """Material over its limit -> the cautions of the jurisdiction whose limit that is."""
    places = {jurisdiction.id: jurisdiction for jurisdiction in chain}
    over = {mix.material: mix.held for mix in mixes}
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


def _with(cautions: tuple[str, ...], added: Added) -> tuple[str, ...]:
    return tuple(dict.fromkeys([*cautions, *(name for name, _ in added)])) if added else cautions


def _named(jurisdiction: Jurisdiction) -> str:
    return f"jurisdiction {jurisdiction.id}"
