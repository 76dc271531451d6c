"""Conditions with one thing changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rules.authoring.mutation.kinds import Kind
from rules.conditions import All, Any, Condition, OneOf, Test, Value, Within
from rules.places import Place
from rules.vocabulary import Fact, Vocabulary
from rules.vocabulary import Kind as FactKind
from rules.wording import condition_in_words

Change = tuple[Kind, str, Condition, Place]
"""(what kind of change, in words, the condition as changed, where the changed part was written)."""


def changes_of(condition: Condition, vocabulary: Vocabulary, alternative: bool = False) -> Iterator[Change]:
    """Every condition that differs from `condition` in one part, in the order written.

    `alternative` tells that the condition is one of several under `any`.
    """
    if isinstance(condition, (All, Any)):
        yield from _changes_of_parts(condition, vocabulary, alternative)
    else:
        yield from _changes_of_test(condition, vocabulary[condition.fact])


def _changes_of_parts(condition: All | Any, vocabulary: Vocabulary, alternative: bool) -> Iterator[Change]:
    for number, part in enumerate(condition.parts):
        before, after = condition.parts[:number], condition.parts[number + 1 :]
        # Without its only test an alternative would hold always: that is the rule without its `any`.
        # Without its only alternative `any` would hold never, and no author could write it.
        if before or after or (isinstance(condition, All) and not alternative):
            told = f"without '{condition_in_words(part)}'"
            yield Kind.DROP_CONDITION, told, replace(condition, parts=before + after), part.place
        for kind, told, changed, place in changes_of(part, vocabulary, isinstance(condition, Any)):
            yield kind, told, replace(condition, parts=(*before, changed, *after)), place


def _changes_of_test(test: Test, fact: Fact) -> Iterator[Change]:
    yield _told(Kind.FLIP_CONDITION, test, replace(test, negated=not test.negated))
    if isinstance(test, Within):
        for moved in _moved(test, fact.cut_points):
            yield _told(Kind.MOVE_CUT_POINT, test, moved)
    elif fact.kind is FactKind.ENUMERATION:
        for values in _other_values(test, fact.domain):
            yield _told(Kind.CHANGE_VALUE, test, replace(test, values=values))


def _moved(test: Within, cut_points: tuple[float, ...]) -> Iterator[Within]:
    """With one bound at the next cut point below or above; bounds never meet."""
    moved = [replace(test, at_least=point) for point in _neighbours(test.at_least, cut_points)]
    moved += [replace(test, below=point) for point in _neighbours(test.below, cut_points)]
    for each in moved:
        if each.at_least is None or each.below is None or each.at_least < each.below:
            yield each


def _neighbours(point: float | None, cut_points: tuple[float, ...]) -> tuple[float, ...]:
    if point is None:
        return ()
    place = cut_points.index(point)
    return (*cut_points[max(place - 1, 0) : place], *cut_points[place + 1 : place + 2])


def _other_values(test: OneOf, domain: tuple[Value, ...]) -> Iterator[tuple[Value, ...]]:
    """One value fewer, or another one; and one value more, where that leaves some out."""
    others = [value for value in domain if value not in test.values]
    if len(test.values) > 1:
        yield from (tuple(kept for kept in test.values if kept != value) for value in test.values)
    elif others:
        yield (domain[(domain.index(test.values[0]) + 1) % len(domain)],)
    if len(others) > 1:
        yield (*test.values, others[0])


def _told(kind: Kind, test: Test, changed: Test) -> Change:
    return kind, f"'{condition_in_words(changed)}' for '{condition_in_words(test)}'", changed, test.place
