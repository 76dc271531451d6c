"""Which row of the substrate table stands for a marked compound.

The rule, in order:

1. The polymers must be the same, the main one first; the order of the others means nothing. When no
   row has them as marked, letters that name only a grade (HI, HD, B, ...) and the phases of an
   elastomer are left out. Another polymer is never taken.
2. Among those rows, one with the same fillers and shares; else the rows whose filler is of the same
   class (none, glass fibre, mineral, ...), the same filler material before others, then the nearest
   share by mass, of two equally near the lower.
3. Flame retardant, recycled content and plasticiser are not told apart; a note says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum

from rules.materials.markings import Compound, Filler, MarkingError, Polymer, parse_compound
from rules.materials.markings.symbols import FILLER_MATERIALS, flame_retardant_name, qualifier_of
from rules.pack import Substrate

FIBROUS_FORMS = frozenset({"F", "CM", "H", "K", "M", "N", "R", "W", "Y"})
MINERALS = frozenset("DEKMPQT")
GLASS_PARTICLES = frozenset("BDGS")
"""Letters of ISO 1043-2. Glass beads, powder and flakes fill as minerals do; glass fibre does not."""


class By(Enum):
    """The rule by which a row was found."""

    SYMBOL = "symbol"
    ALIAS = "alias"
    MARKING = "marking"
    NEAREST = "nearest"


@dataclass(frozen=True)
class Match:
    """A row and what of the compound it does not tell apart."""

    substrate: Substrate
    by: By
    notes: tuple[str, ...]


class NoRow(ValueError):
    """The rule finds no row; the message says at which step."""


def nearest_row(rows: Iterable[Substrate], compound: Compound) -> Match:
    """The row for `compound` by the rule above. Raises NoRow."""
    read = [(row, own) for row in rows if (own := compound_of(row))]
    same, notes = _same_polymers(read, compound)
    for row, own in same:
        if set(own.fillers) == set(compound.fillers) and own.mixture_pct == compound.mixture_pct:
            by = By.NEAREST if notes else By.MARKING
            return Match(row, by, (*notes, *_not_told_apart(compound)))
    return _nearest_filler(same, compound, notes)


def compound_of(row: Substrate) -> Compound | None:
    """The row's symbol read as a compound; None where it is none, as for `unknown`."""
    try:
        return parse_compound(row.symbol)
    except MarkingError:
        return None


Read = list[tuple[Substrate, Compound]]


def _same_polymers(read: Read, compound: Compound) -> tuple[Read, tuple[str, ...]]:
    for wanted, notes in ((compound, ()), _loosened(compound)):
        same = [(row, own) for row, own in read if _base(own) == _base(wanted)]
        if same:
            return same, notes
    polymers = "+".join(map(str, compound.polymers))
    raise NoRow(f"has no row: none has the polymer {polymers}, and another is not guessed")


def _base(compound: Compound) -> tuple[Polymer, frozenset[Polymer]]:
    main, *others = (replace(polymer, plasticiser=None, recyclate=None) for polymer in compound.polymers)
    return main, frozenset(others)


def _loosened(compound: Compound) -> tuple[Compound, tuple[str, ...]]:
    """`compound` without grades and phases, and notes of what was left out."""
    polymers = tuple(map(_without_grade, compound.polymers))
    notes = tuple(
        f"{marked} is taken as {polymer}"
        for marked, polymer in zip(compound.polymers, polymers, strict=True)
        if (marked.qualifier, marked.phases) != (polymer.qualifier, polymer.phases)
    )
    return replace(compound, polymers=polymers), notes


def _without_grade(polymer: Polymer) -> Polymer:
    qualifier = qualifier_of(polymer.qualifier, polymer.symbol) if polymer.qualifier else None
    kept = polymer.qualifier if qualifier is None or qualifier.other_material else None
    return replace(polymer, qualifier=kept, phases=())


def _nearest_filler(same: Read, compound: Compound, notes: tuple[str, ...]) -> Match:
    wanted = _filler_class(compound.fillers)
    rows = [(row, own) for row, own in same if _filler_class(own.fillers) == wanted]
    if not rows:
        listed = ", ".join(row.symbol for row, _ in same)
        raise NoRow(f"has no row: of {listed} none is filled with {wanted}")
    share = _share(compound)
    if share is None and len(rows) > 1:
        raise NoRow(f"gives no % by mass to choose by between {', '.join(row.symbol for row, _ in rows)}")

    def distance(item: tuple[Substrate, Compound]) -> tuple[bool, float, float, str]:
        row, own = item
        declared = _share(own) or 0
        away = 0 if share is None else abs(share - declared)
        return _materials(own) != _materials(compound), away, declared, row.symbol

    row, _ = min(rows, key=distance)
    told = f"{compound} is taken as {row.symbol}: same polymers, filler of the same class ({wanted})"
    return Match(row, By.NEAREST, (*notes, told, *_not_told_apart(compound)))


def _filler_class(fillers: tuple[Filler, ...]) -> str:
    """A fibre goes before everything else in a mixture; then the first filler counts."""
    fibres = [filler for filler in fillers if _is_fibre(filler)]
    return next((_class_of(filler) for filler in (*fibres, *fillers)), "nothing")


def _is_fibre(filler: Filler) -> bool:
    return filler.form in FIBROUS_FORMS and filler.material not in MINERALS


def _class_of(filler: Filler) -> str:
    name = FILLER_MATERIALS[filler.material]
    if _is_fibre(filler):
        return f"{name} fibre"
    particles = filler.material == "G" and filler.form in GLASS_PARTICLES
    return "mineral" if filler.material in MINERALS or particles else name


def _materials(compound: Compound) -> frozenset[str]:
    return frozenset(filler.material for filler in compound.fillers)


def _share(compound: Compound) -> int | None:
    """The % by mass of the fillers that make the class, as far as the marking gives it."""
    wanted = _filler_class(compound.fillers)
    counted = [filler.percent for filler in compound.fillers if _class_of(filler) == wanted]
    shares = [percent for percent in counted if percent is not None]
    return sum(shares) if shares else compound.mixture_pct


def _not_told_apart(compound: Compound) -> tuple[str, ...]:
    notes = [
        f"flame retardant FR({code}), {flame_retardant_name(code)}" for code in compound.flame_retardants
    ]
    notes += [f"recycled content {polymer.recyclate}" for polymer in compound.polymers if polymer.recyclate]
    notes += [f"plasticiser {polymer.plasticiser}" for polymer in compound.polymers if polymer.plasticiser]
    return tuple(f"{note}: not told apart by the substrate table" for note in notes)
