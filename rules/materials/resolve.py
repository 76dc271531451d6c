"""From what a line item calls a material to a row of the substrate table.

Tried in this order, with > and < and without: a row's symbol, exactly; a symbol without regard to
letter case; an alias; a marking or what may stand in one, by `rules.materials.nearest`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TypeVar

from rules.materials.markings import Compound, MarkingError, parse_compound, parse_marking
from rules.materials.markings.symbols import polymer_name
from rules.materials.nearest import By, NoRow, compound_of, nearest_row
from rules.pack import Pack, Substrate

UNKNOWN = "unknown"
"""The symbol of the row that stands for a material nobody could tell."""

T = TypeVar("T")
_SHOWN = 60
_CAPITALS = {ord(small): ord(small) - 32 for small in "abcdefghijklmnopqrstuvwxyz"}


@dataclass(frozen=True)
class Resolved:
    """A row, by which rule it was found, and what of the text it does not tell apart."""

    substrate: Substrate
    by: By
    notes: tuple[str, ...] = ()


class MaterialUnknown(ValueError):
    """No row for `text`. `suggestions` are symbols of rows; `position` counts from 1 in a bad marking."""

    def __init__(
        self, text: str, detail: str, suggestions: Iterable[str] = (), position: int | None = None
    ) -> None:
        self.text = text
        self.detail = detail
        self.suggestions = tuple(suggestions)
        self.position = position
        shown = text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."
        hint = f"; did you mean {' or '.join(self.suggestions)}?" if self.suggestions else ""
        super().__init__(f"'{shown}' {detail}{hint}")


def resolve(pack: Pack, text: str) -> Substrate:
    """The row for a symbol, a marking, an alias or `unknown`. Raises MaterialUnknown."""
    return resolve_with_notes(pack, text).substrate


def resolve_with_notes(pack: Pack, text: str) -> Resolved:
    """`resolve`, with how the row was found. Raises MaterialUnknown."""
    first, *others = resolve_all(pack, text)
    if others:
        detail = "marks a part of several materials; give the damaged one"
        raise MaterialUnknown(
            text, detail, (first.substrate.symbol, *(one.substrate.symbol for one in others))
        )
    return first


def resolve_all(pack: Pack, text: str) -> tuple[Resolved, ...]:
    """The row of each material that `text` marks, mostly one. Raises MaterialUnknown."""
    name = text.strip()
    marked = name[1:-1] if name.startswith(">") and name.endswith("<") else name
    found = named(pack, name) or named(pack, marked)
    if found is not None:
        return (found,)
    return tuple(_nearest(pack, text, compound) for compound in _compounds(pack, text, name))


def named(pack: Pack, name: str) -> Resolved | None:
    """The row whose symbol or alias is `name`; exact spelling goes before the letter case."""
    exact = pack.substrates.get(name)
    if exact is not None:
        return Resolved(exact, By.SYMBOL)
    folded = name.casefold()
    for row in pack.substrates.values():
        if row.symbol.casefold() == folded:
            return Resolved(row, By.SYMBOL)
    for row in pack.substrates.values():
        if any(alias.casefold() == folded for alias in row.aliases):
            return Resolved(row, By.ALIAS, (f"{name} is a trade name of {row.symbol}",))
    return None


def _compounds(pack: Pack, text: str, name: str) -> tuple[Compound, ...]:
    """What `text` describes in the language of markings."""
    if name.startswith(">") or name.endswith("<"):
        try:
            return _forgiving(parse_marking, text).compounds
        except MarkingError as error:
            similar = _similar(pack, name.strip("<>"))
            raise MaterialUnknown(text, f"is not a marking: {error}", similar, error.position) from error
    try:
        return (_forgiving(parse_compound, text),)
    except MarkingError as error:
        detail = "is no symbol and no trade name of the substrate table, and no marking"
        raise MaterialUnknown(text, detail, _similar(pack, name)) from error


def _forgiving(parse: Callable[[str], T], text: str) -> T:
    """Parse as written, and failing that with small letters read as capitals."""
    try:
        return parse(text)
    except MarkingError:
        return parse(text.translate(_CAPITALS))


def _nearest(pack: Pack, text: str, compound: Compound) -> Resolved:
    base = named(pack, str(Compound(compound.polymers)))
    notes: tuple[str, ...] = ()
    if base is not None and base.by is By.ALIAS:
        compound, notes = _in_terms_of(base.substrate, compound), base.notes
    try:
        match = nearest_row(pack.substrates.values(), compound)
    except NoRow as error:
        raise MaterialUnknown(text, _why_no_row(compound, error), _related(pack, compound)) from error
    return Resolved(match.substrate, match.by, (*notes, *match.notes))


def _in_terms_of(row: Substrate, compound: Compound) -> Compound:
    """`compound` with the polymers of the row they are an alias of, and that row's fillers if it has none."""
    own = compound_of(row)
    if own is None:
        return compound
    if compound.fillers:
        return replace(compound, polymers=own.polymers)
    return replace(own, flame_retardants=compound.flame_retardants)


def _why_no_row(compound: Compound, error: NoRow) -> str:
    symbols = [symbol for polymer in compound.polymers for symbol in (polymer.symbol, *polymer.phases)]
    unlisted = [symbol for symbol in symbols if polymer_name(symbol) is None]
    if unlisted:
        return f"names {', '.join(unlisted)}, which the tables of polymer symbols do not know"
    return str(error)


def _related(pack: Pack, compound: Compound) -> list[str]:
    """Rows with the same main polymer, those closest in spelling first; else rows spelled alike."""
    main = compound.polymers[0].symbol
    rows = [
        row.symbol
        for row in pack.substrates.values()
        if (own := compound_of(row)) and own.polymers[0].symbol == main
    ]
    return get_close_matches(str(compound), rows, n=3, cutoff=0.0) or _similar(pack, str(compound))


def _similar(pack: Pack, name: str) -> list[str]:
    """Symbols of rows whose symbol, alias or name is spelled like `name`, at most three."""
    symbols = {
        word.casefold(): row.symbol
        for row in pack.substrates.values()
        for word in (row.name, *row.aliases, row.symbol)
    }
    close = get_close_matches(name[:_SHOWN].casefold(), symbols, n=3, cutoff=0.6)
    return list(dict.fromkeys(symbols[word] for word in close))
