"""Two vocabularies as one: the facts in which the same line item can be put to both packs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rules.vocabulary import Fact, Kind, Origin, Vocabulary
from rules.wording import condition_in_words, value_in_words


def common(first: Fact, second: Fact) -> Fact | None:
    """A fact each of whose cells lies in one cell of both; None where no value means the same in both.

    A number is cut at the cut points of both, an enumeration has the members that both have. Where the
    two declarations differ on when the fact applies, the common one does not say.
    """
    if first.kind is not second.kind or first.otherwise != second.otherwise:
        return None
    default = first.default if first.default == second.default else None
    condition = first.applies_when if first.applies_when == second.applies_when else None
    fact = replace(first, applies_when=condition, default=default)
    if fact.kind is Kind.NUMBER:
        low, high = max(first.minimum, second.minimum), min(first.maximum, second.maximum)
        cuts = sorted({cut for cut in (*first.cut_points, *second.cut_points) if low < cut <= high})
        return replace(fact, minimum=low, maximum=high, cut_points=tuple(cuts)) if low <= high else None
    if fact.kind is Kind.ENUMERATION:
        values = {value: told for value, told in first.values.items() if value in second.values}
        return replace(fact, values=values) if values else None
    return fact


def given_in_both(first: Vocabulary, second: Vocabulary) -> frozenset[str]:
    """The facts that line items state, with some value that means the same, to both packs."""
    return frozenset(
        fact.name
        for fact in first.from_origin(Origin.LINE_ITEM)
        if fact.name in second
        and second[fact.name].origin is Origin.LINE_ITEM
        and common(fact, second[fact.name]) is not None
    )


def notes_on(first: Vocabulary, second: Vocabulary) -> Iterator[str]:
    """What of the facts of line items only one pack knows, or what they say otherwise, in words."""
    both = given_in_both(first, second)
    stated = [fact.name for pack in (first, second) for fact in pack.from_origin(Origin.LINE_ITEM)]
    for name in dict.fromkeys(stated):
        if name in both:
            yield from _notes_on_common(first[name], second[name])
        elif name in first and name in second:
            yield f"the fact '{name}' is not the same kind of thing in both; no value of it is compared"
        else:
            side, other = ("A", "B") if name in first else ("B", "A")
            yield f"the fact '{name}' is only in {side}; {other} answers as if nobody had stated it"


def _notes_on_common(first: Fact, second: Fact) -> Iterator[str]:
    what = f"the fact '{first.name}'"
    for value in (*first.values, *second.values):
        if value not in first.values or value not in second.values:
            yield f"{what} has the value '{value}' in {'A' if value in first.values else 'B'} alone"
    if (first.minimum, first.maximum) != (second.minimum, second.maximum):
        ranges = [f"from {fact.minimum:g} to {fact.maximum:g}" for fact in (first, second)]
        yield f"{what} runs {ranges[0]} in A and {ranges[1]} in B; compared is what lies in both"
    if first.default != second.default:
        defaults = [value_in_words(fact.default) for fact in (first, second)]
        yield f"{what}, when nobody states it, is {defaults[0]} in A and {defaults[1]} in B"
    if first.applies_when != second.applies_when:
        applies = [
            condition_in_words(fact.applies_when) if fact.applies_when else "always"
            for fact in (first, second)
        ]
        yield f"{what} applies in A when {applies[0]}, in B when {applies[1]}; compared is where both agree"
