"""The filler part of a marking: `GF30`, `T20`, `(GF25+MD15)`, `(GF+MD)40`, `MED(Al)20`."""

from __future__ import annotations

from rules.materials.markings.cursor import DIGITS, LETTERS, Cursor
from rules.materials.markings.structure import Filler
from rules.materials.markings.symbols import FILLER_FORMS, FILLER_MATERIALS, METALS

_ELEMENT = LETTERS | frozenset("abcdefghijklmnopqrstuvwxyz")


def parse_fillers(cursor: Cursor) -> tuple[tuple[Filler, ...], int | None]:
    """One filler or a mixture in parentheses, and the % by mass of a mixture given as a whole."""
    start = cursor.at
    if not cursor.take_if("("):
        return (_filler(cursor, alone=True),), None
    fillers = [_filler(cursor)]
    if not cursor.sees("+"):
        cursor.fail("'+' and another filler; parentheses hold a mixture, as in (GF25+MD15)")
    while cursor.take_if("+"):
        fillers.append(_another_filler(cursor, fillers))
    cursor.take(")", "'+' and another filler, or ')'")
    at = cursor.at
    mixture_pct = percent(cursor)
    shares = [filler.percent for filler in fillers if filler.percent is not None]
    if shares and mixture_pct is not None:
        cursor.fail("the % by mass of each filler or of the mixture, not both", at, str(mixture_pct))
    if sum(shares) >= 100:
        read = cursor.text[start : cursor.at]
        cursor.fail(f"fillers that leave room for a polymer; these make {sum(shares)} %", start, read)
    return tuple(fillers), mixture_pct


def percent(cursor: Cursor, most: int = 99) -> int | None:
    """A share in % by mass, 1 to `most`; None when no digit comes next."""
    start = cursor.at
    number = cursor.take_while(DIGITS)
    if not number:
        return None
    if len(number) > 3 or number.startswith("0") or int(number) > most:
        cursor.fail(f"a share of 1 to {most} % by mass, without leading zeros", start, number)
    return int(number)


def filler_from(letters: str) -> Filler | None:
    """The filler that `letters` stand for: a material (two letters for metal), then perhaps a form."""
    for length in (2, 1):
        material, form = letters[:length], letters[length:]
        if material in FILLER_MATERIALS and (not form or form in FILLER_FORMS):
            return Filler(material, form or None)
    return None


def _filler(cursor: Cursor, alone: bool = False) -> Filler:
    """One filler. Standing alone it has a form or a share: a bare letter says too little to be sure."""
    start = cursor.at
    letters = cursor.take_while(LETTERS)
    filler = filler_from(letters)
    if filler is None:
        expected = "a filler (material letter, form letter, % by mass, as in GF30)"
        known = "a qualifier of the polymer, " if alone else ""
        cursor.fail(f"{known}{expected}", start, letters or cursor.next)
    element = _element(cursor) if filler.material == "ME" else None
    share = percent(cursor)
    if alone and filler.form is None and share is None:
        cursor.fail("a form letter or the % by mass after the filler's material letter")
    return Filler(filler.material, filler.form, element, share)


def _another_filler(cursor: Cursor, before: list[Filler]) -> Filler:
    start = cursor.at
    filler = _filler(cursor)
    if any((filler.material, filler.form, filler.element) == _kind(other) for other in before):
        cursor.fail("another filler than those already named", start, str(filler))
    return filler


def _kind(filler: Filler) -> tuple[str, str | None, str | None]:
    return filler.material, filler.form, filler.element


def _element(cursor: Cursor) -> str | None:
    if not cursor.take_if("("):
        return None
    start = cursor.at
    letters = cursor.take_while(_ELEMENT)
    if letters.capitalize() not in METALS:
        cursor.fail("the chemical symbol of a metal, such as Al", start, letters or cursor.next)
    cursor.take(")", "')' after the chemical symbol")
    return letters.capitalize()
