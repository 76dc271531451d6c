"""The explanation of a decision as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from api.commands.explained import Explained
from rules.explain import Asked, Explanation, RuleNote
from rules.places import Place
from rules.proof.change import Change
from rules.wording import value_in_words

_WIDTH = 100


def explanation_text(explained: Explained) -> str:
    """Disposition, stages in order, settings, derived facts, cautions; then what did not fire and why."""
    explanation = explained.explanation
    stages = {entry.name: entry for entry in explanation.stages}
    numbered = enumerate(explained.order, start=1)
    in_order = [(f"{number}. {name}", stages[name]) for number, name in numbered if name in stages]
    sections = (
        list(_head(explained)),
        _section("Stages, in working order", in_order),
        _section("Parameters that rules set", _with_values(explanation.settings)),
        _section("Derived facts", _with_values(explanation.derived)),
        _section("Cautions", [(entry.name, entry) for entry in explanation.cautions]),
        list(_not_fired(explanation)),
    )
    return "\n\n".join("\n".join(lines) for lines in sections if lines)


def _head(explained: Explained) -> Iterator[str]:
    substrate, decision = explained.substrate, explained.decision
    yield f"{substrate.symbol} ({substrate.name}): {decision.disposition.value}"
    reasons = {reason.rule: reason.text for reason in decision.reasons}
    for note in explained.explanation.disposition:
        yield from _paragraph(reasons[note.rule], 2)
        yield from _note(note)
    for assumption in explained.facts.assumptions:
        yield f"  assumed: {assumption.fact} is {value_in_words(assumption.value)}"


def _section(title: str, entries: Sequence[tuple[str, Asked]]) -> list[str]:
    lines = [title]
    for name, entry in entries:
        lines.append(f"  {name}  {_place(entry.declared_at)}")
        for note in entry.rules:
            lines.extend(_note(note))
    return lines if entries else []


def _with_values(entries: Sequence[Asked]) -> list[tuple[str, Asked]]:
    return [
        (f"{entry.name} is {value_in_words(entry.value)}{'' if entry.rules else ', by default'}", entry)
        for entry in entries
    ]


def _not_fired(explanation: Explanation) -> Iterator[str]:
    if explanation.not_fired:
        yield "Rules that did not fire"
    for entry in explanation.not_fired:
        yield f"  {entry.rule.rule}  {_place(entry.place)}"
        read = ", ".join(f"{fact} is {value_in_words(value)}" for fact, value in entry.read.items())
        yield from _paragraph(f"asks that {entry.failed}; but {read}", 6)
        if explanation.asked:
            yield from _paragraph(_what_fires(entry.change), 6)


def _what_fires(change: Change | None) -> str:
    if change is None:
        return "no facts make it fire"
    facts = [
        f"without {fact}" if value is None else f"with {fact} = {value_in_words(value)}"
        for fact, value in change.facts.items()
    ]
    material = [] if change.material is None else [f"with material = {change.material}"]
    return "fires " + ", ".join([*material, *facts])


def _note(note: RuleNote) -> list[str]:
    return _paragraph(f"{note.rule}, {_place(note.place)}: {note.why} (source: {note.source})", 6)


def _place(place: Place) -> str:
    return f"{place.file}:{place.line} of {place.pack}"


def _paragraph(text: str, indent: int) -> list[str]:
    margin = " " * indent
    return wrap(
        text,
        _WIDTH,
        initial_indent=margin,
        subsequent_indent=margin + "  ",
        break_long_words=False,
        break_on_hyphens=False,  # names stay whole, so that they can be searched for
    )
