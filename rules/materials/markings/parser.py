"""From the text of a marking to its structure. The grammar stands in the package's docstring."""

from __future__ import annotations

from dataclasses import replace

from rules.materials.markings import symbols
from rules.materials.markings.cursor import DIGITS, LETTERS, Cursor
from rules.materials.markings.fillers import filler_from, parse_fillers, percent
from rules.materials.markings.structure import Compound, Marking, Polymer, Recyclate

_SYMBOL = LETTERS | DIGITS


def parse_marking(text: str) -> Marking:
    """Read a marking between > and <; blanks around it are ignored. Raises MarkingError, nothing else."""
    cursor = Cursor(text)
    cursor.take(">", "'>', with which a marking begins")
    compounds = [_compound(cursor)]
    while cursor.take_if(","):
        compounds.append(_compound(cursor))
    cursor.take("<", "'<', with which a marking ends, or '+', '-' or ',' and what follows it")
    _nothing_left(cursor, "nothing after '<'")
    return Marking(tuple(compounds))


def parse_compound(text: str) -> Compound:
    """Read what may stand between > and < for one material. Raises MarkingError, nothing else."""
    cursor = Cursor(text)
    compound = _compound(cursor)
    _nothing_left(cursor, "the end, or '+' or '-' and what follows it")
    return compound


def _nothing_left(cursor: Cursor, expected: str) -> None:
    if cursor.next:
        cursor.fail(expected)


def _compound(cursor: Cursor) -> Compound:
    """A blend, then fillers and flame retardants in either order, each at most once."""
    compound = Compound(_blend(cursor))
    while cursor.take_if("-"):
        if cursor.sees("FR"):
            if compound.flame_retardants:
                cursor.fail("no second FR(...); several codes are joined in one, as in FR(17+40)")
            compound = replace(compound, flame_retardants=_flame_retardants(cursor))
        elif compound.fillers:
            cursor.fail("no second filler; a mixture stands in parentheses, as in (GF25+MD15)")
        else:
            fillers, mixture_pct = parse_fillers(cursor)
            compound = replace(compound, fillers=fillers, mixture_pct=mixture_pct)
    return compound


def _blend(cursor: Cursor) -> tuple[Polymer, ...]:
    polymers = [_polymer(cursor)]
    while cursor.take_if("+"):
        start = cursor.at
        polymer = _polymer(cursor)
        if any((polymer.symbol, polymer.qualifier) == (one.symbol, one.qualifier) for one in polymers):
            cursor.fail("another polymer than those already named", start, polymer.symbol)
        polymers.append(polymer)
    return tuple(polymers)


def _polymer(cursor: Cursor) -> Polymer:
    symbol = _symbol(cursor)
    qualifier = _qualifier(cursor, symbol)
    plasticiser = _plasticiser(cursor) if qualifier == "P" else None
    phases = _phases(cursor) if symbol in symbols.ELASTOMERS and not qualifier else ()
    return Polymer(symbol, qualifier, plasticiser, phases, _recyclate(cursor))


def _symbol(cursor: Cursor) -> str:
    start = cursor.at
    if cursor.next not in LETTERS:
        cursor.fail("the symbol of a polymer in capital letters, such as PP or PA66")
    symbol = cursor.take_while(_SYMBOL)
    while cursor.sees("/"):
        if not symbol.startswith("PA"):
            cursor.fail("'+' between the polymers of a blend; '/' stands in polyamide copolymers alone")
        cursor.at += 1
        part = cursor.take_while(_SYMBOL)
        if not part:
            cursor.fail("the other part of the polyamide copolymer, as in PA6/66")
        symbol += f"/{part}"
    if len(symbol) == 1:
        cursor.fail("a polymer symbol of two or more characters", start, symbol)
    return symbol


def _qualifier(cursor: Cursor, symbol: str) -> str | None:
    """The letters after a hyphen when they are a qualifier of this polymer; else nothing is read."""
    start = cursor.at
    if cursor.take_if("-"):
        letters = cursor.take_while(LETTERS)
        if symbols.qualifier_of(letters, symbol) and cursor.next not in DIGITS:
            return letters
    cursor.at = start
    return None


def _plasticiser(cursor: Cursor) -> str | None:
    if cursor.sees("(REC") or not cursor.take_if("("):
        return None
    symbol = cursor.take_while(_SYMBOL)
    if not symbol:
        cursor.fail("the symbol of a plasticiser in capital letters, such as DBP")
    cursor.take(")", "')' after the plasticiser")
    return symbol


def _phases(cursor: Cursor) -> tuple[str, ...]:
    """The polymers in parentheses after a thermoplastic elastomer, unless they read as fillers."""
    if not cursor.sees("-(") or _reads_as_filler(cursor):
        return ()
    cursor.at += len("-(")
    phases = [_symbol(cursor)]
    while cursor.take_if("+"):
        at = cursor.at
        phase = _symbol(cursor)
        if phase in phases:
            cursor.fail("another polymer than those already named", at, phase)
        phases.append(phase)
    cursor.take(")", "'+' and another polymer, or ')'")
    return tuple(phases)


def _reads_as_filler(cursor: Cursor) -> bool:
    """Whether a filler, and no polymer that is in the tables, stands after the `-(` that comes next."""
    start = cursor.at
    cursor.at += len("-(")
    letters = cursor.take_while(LETTERS)
    word = letters + cursor.take_while(_SYMBOL)
    cursor.at = start
    return symbols.polymer_name(word) is None and filler_from(letters) is not None


def _recyclate(cursor: Cursor) -> Recyclate | None:
    if not cursor.take_if("("):
        return None
    cursor.take("REC", "REC and the % by mass of recyclate, as in (REC30)")
    share = percent(cursor, most=100)
    cursor.take(")", "the % by mass of recyclate or ')'")
    return Recyclate(share)


def _flame_retardants(cursor: Cursor) -> tuple[int, ...]:
    cursor.take("FR(", "FR( and a code number of two digits, as in FR(40)")
    codes = [_code(cursor, ())]
    while cursor.take_if("+"):
        codes.append(_code(cursor, tuple(codes)))
    cursor.take(")", "'+' and another code number, or ')'")
    return tuple(codes)


def _code(cursor: Cursor, before: tuple[int, ...]) -> int:
    start = cursor.at
    number = cursor.take_while(DIGITS)
    if len(number) != 2 or number.startswith("0"):
        cursor.fail("a flame-retardant code number of two digits, 10 to 99", start, number or cursor.next)
    if int(number) in before:
        cursor.fail("another code number than those already given", start, number)
    return int(number)
