"""The explanation of a decision as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from api.commands.explained import Explained
from rules.explain import Asked, NotFired, RuleNote
from rules.places import Place
from rules.wording import value_in_words

_WIDTH = 100


def explanation_text(explained: Explained) -> str:
    """Disposition, stages in order, settings, derived facts, cautions; then what did not fire and why."""
    explanation = explained.explanation
    stages = {entry.name: entry for entry in explanation.stages}
    in_order = [(f"{number}. {name}", stages[name]) for number, name in enumerate(explained.order, start=1)]
    sections = (
        list(_head(explained)),
        _section("Stages, in working order", in_order),
        _section("Parameters that rules set", _with_values(explanation.settings)),
        _section("Derived facts", _with_values(explanation.derived)),
        _section("Cautions", [(entry.name, entry) for entry in explanation.cautions]),
        list(_not_fired(explanation.not_fired)),
    )
    return "\n\n".join("\n".join(lines) for lines in sections if lines)


def _head(explained: Explained) -> Iterator[str]:
    substrate, decision = explained.substrate, explained.decision
    yield f"{substrate.symbol} ({substrate.name}): {decision.disposition.value}"
    for reason, note in zip(decision.reasons, explained.explanation.disposition, strict=True):
        yield from _paragraph(reason.text, 2)
        yield from _note(note)
    for assumption in explained.facts.assumptions:
        yield f"  assumed: {assumption.fact} is {value_in_words(assumption.value)}"


def _section(title: str, entries: Sequence[tuple[str, Asked]]) -> list[str]:
    lines = [title]
    for name, entry in entries:
        lines.append(f"  {name}")
        for note in entry.rules:
            lines.extend(_note(note))
    return lines if entries else []


def _with_values(entries: Sequence[Asked]) -> list[tuple[str, Asked]]:
    return [
        (f"{entry.name} is {value_in_words(entry.value)}{'' if entry.rules else ', by default'}", entry)
        for entry in entries
    ]


def _not_fired(entries: Sequence[NotFired]) -> Iterator[str]:
    if entries:
        yield "Rules that did not fire"
    for entry in entries:
        yield f"  {entry.rule.rule}  {_place(entry.place)}"
        read = ", ".join(f"{fact} is {value_in_words(value)}" for fact, value in entry.read.items())
        yield from _paragraph(f"asks that {entry.failed}; but {read}", 6)


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
