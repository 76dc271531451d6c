"""Compares two packs: every difference of their answers with the cells in which it is seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from rules.authoring.answers import Answers, Part, answers_of
from rules.authoring.difference.catalogues import changed_members
from rules.authoring.difference.joint import joint_of
from rules.authoring.difference.vocabularies import notes_on
from rules.pack import Pack
from rules.proof.domain import Domain
from rules.proof.outcomes import DISPOSITION, Outcomes, outcomes_of
from rules.proof.space import CellSet, union
from rules.proof.witness import Witness, witness_of
from rules.wording import value_in_words

T = TypeVar("T")

NO_ANSWER = Part("disposition", "no single answer")


@dataclass(frozen=True)
class Group:
    """Differences that are seen in the very same cells: what, in words; how many cells; one of them."""

    told: tuple[str, ...]
    cells: int
    witness: Witness


@dataclass(frozen=True)
class Difference:
    """All that two packs answer differently, the widest first. `notes` tell what could not be compared.

    `cells` were compared, in `changed` of them at least one thing is different.
    """

    cells: int
    changed: int
    groups: tuple[Group, ...]
    notes: tuple[str, ...]


def difference(first: Pack, second: Pack) -> Difference:
    """What the second pack answers otherwise than the first. Raises NotComparable."""
    joint = joint_of(first, second)
    domain = joint.domain
    left, right = outcomes_of(joint.first, domain), outcomes_of(joint.second, domain)
    catalogues = tuple(_catalogues(first, second))
    found = [(told, where) for told, where in _found(domain, left, right, catalogues) if domain.count(where)]
    return Difference(
        cells=domain.count(domain.admissible),
        changed=domain.count(union(domain, (where for _, where in found))),
        groups=_grouped(domain, found),
        notes=tuple(_notes(first, second)),
    )


def _found(
    domain: Domain, first: Outcomes, second: Outcomes, catalogues: Iterable[tuple[Part, str]]
) -> Iterator[tuple[str, CellSet]]:
    """Everything that is different, in words, with its cells, of which there may be none."""
    left, right = (_parts(outcomes, domain) for outcomes in (first, second))
    alike = domain.empty
    for before in _of_kind(left, "disposition"):
        for after in _of_kind(right, "disposition"):
            where = left[before] & right[after]
            if before == after:
                alike = alike | where
            else:
                yield f"{before.name} becomes {after.name}", where
    yield from ((told, where & alike) for told, where in _within(left, right, domain.empty))
    yield from ((told, left[part] & right[part] & alike) for part, told in catalogues)


def _parts(outcomes: Outcomes, domain: Domain) -> dict[Part, CellSet]:
    """The parts of answers, with the reasons that people are shown."""
    parts = answers_of(outcomes, domain)
    parts[NO_ANSWER] = domain.admissible & ~outcomes.answered
    for rule in outcomes.pack.rules.values():
        if rule.decide:
            reason = Part("reason", rule.decide.reason)
            stands = outcomes.stands(DISPOSITION, rule.id) & outcomes.answered
            parts[reason] = parts.get(reason, domain.empty) | stands
    return parts


def _within(left: Answers, right: Answers, empty: CellSet) -> Iterator[tuple[str, CellSet]]:
    """Differences inside answers of one disposition."""
    for kind, named in (("stage", "stage '{}'"), ("caution", "caution '{}'"), ("reason", "reason '{}'")):
        for part in dict.fromkeys((*_of_kind(left, kind), *_of_kind(right, kind))):
            before, after = left.get(part, empty), right.get(part, empty)
            yield f"{named.format(part.name)} appears", after & ~before
            yield f"{named.format(part.name)} disappears", before & ~after
    for before in _of_kind(left, "parameter"):
        for after in _of_kind(right, "parameter"):
            if before.name == after.name and before.value != after.value:
                values = [value_in_words(part.value) for part in (before, after)]
                yield f"{before.name} {values[0]} becomes {values[1]}", left[before] & right[after]


def _of_kind(answers: Answers, kind: str) -> list[Part]:
    return [part for part in answers if part.kind == kind]


def _catalogues(first: Pack, second: Pack) -> Iterator[tuple[Part, str]]:
    """What both packs have and describe differently; parameters and cautions are compared as parts."""
    for stage in _in_both(first.stages, second.stages):
        changes = changed_members(*stage, but=("parameters", "cautions"))
        yield from ((Part("stage", stage[0].id), f"stage '{stage[0].id}': {told}") for told in changes)
    for caution in _in_both(first.cautions, second.cautions):
        changes = changed_members(*caution)
        yield from (
            (Part("caution", caution[0].id), f"caution '{caution[0].id}': {told}") for told in changes
        )


def _in_both(first: Mapping[str, T], second: Mapping[str, T]) -> list[tuple[T, T]]:
    return [(thing, second[name]) for name, thing in first.items() if name in second]


def _grouped(domain: Domain, found: list[tuple[str, CellSet]]) -> tuple[Group, ...]:
    by_cells: dict[CellSet, list[str]] = {}
    for told, where in found:
        by_cells.setdefault(where & domain.admissible, []).append(told)
    groups = [
        Group(tuple(sorted(told)), domain.count(where), witness_of(domain, where))
        for where, told in by_cells.items()
    ]
    return tuple(sorted(groups, key=lambda group: (-group.cells, group.told)))


def _notes(first: Pack, second: Pack) -> Iterator[str]:
    """What differs beside the answers, or could not be compared."""
    if (first.effective_from, first.effective_until) != (second.effective_from, second.effective_until):
        spans = [
            f"from {pack.effective_from} until {pack.effective_until or 'further notice'}"
            for pack in (first, second)
        ]
        yield f"A holds {spans[0]}, B {spans[1]}"
    yield from notes_on(first.vocabulary, second.vocabulary)
    for symbol in dict.fromkeys((*first.substrates, *second.substrates)):
        if symbol not in first.substrates or symbol not in second.substrates:
            yield f"material {symbol} is only in {'A' if symbol in first.substrates else 'B'}"
    for rows in _in_both(first.substrates, second.substrates):
        yield from (f"material {rows[0].symbol}: {told}" for told in changed_members(*rows))
    for materials in _in_both(first.materials, second.materials):
        yield from (f"consumable '{materials[0].id}': {told}" for told in changed_members(*materials))
    for places in _in_both(first.jurisdictions, second.jurisdictions):
        yield from (f"jurisdiction '{places[0].id}': {told}" for told in changed_members(*places))
    yield from _notes_on_policies(first, second)


def _notes_on_policies(first: Pack, second: Pack) -> Iterator[str]:
    """Policies decide nothing, so they differ beside the answers."""
    for name in dict.fromkeys((*first.policies, *second.policies)):
        if name not in first.policies or name not in second.policies:
            yield f"policy '{name}' is only in {'A' if name in first.policies else 'B'}"
    for policies in _in_both(first.policies, second.policies):
        yield from (f"policy '{policies[0].id}': {told}" for told in changed_members(*policies))
