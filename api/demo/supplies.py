"""Mixes and the pick list of a procedure, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Any

Document = Mapping[str, Any]

_INDENT = "    "
_TITLE = 46
_TAKEN_AT = len(_INDENT) + _TITLE + 14
_WIDTH = 100


def mixes_in_text(materials: Sequence[Document]) -> Iterator[str]:
    """What is mixed, in the order in which it goes into the cup on the scale."""
    mixed = [material for material in materials if material["recipe"]]
    if not mixed:
        return
    yield ""
    yield f"{'Mixes, in this order':<{_TITLE + 8}}{'Parts':>8}{'Volume':>12}{'Mass':>12}{'Scale':>12}"
    for material in mixed:
        film = material["film"]
        coats = f", {film['coats']} x {film['wet_um']:g} µm wet" if film else ""
        yield f"{_INDENT}{material['title']}, {material['quantity_ml']} ml{coats}"
        for part in material["recipe"]["parts"]:
            volume, mass, scale = f"{part['volume_ml']} ml", f"{part['mass_g']} g", f"{part['scale_g']} g"
            title = part["title"][:_TITLE]
            yield f"{_INDENT * 2}{title:<{_TITLE}}{part['parts']:>8g}{volume:>12}{mass:>12}{scale:>12}"


def pick_list_in_text(lines: Sequence[Document]) -> Iterator[str]:
    """What to take from the store."""
    if not lines:
        return
    yield ""
    yield "Take from the store"
    for line in lines:
        used = f"{line['quantity_ml']} ml" if line["quantity_ml"] else ""
        first, *more = wrap(_taken(line), _WIDTH - _TAKEN_AT) or [""]
        yield f"{_INDENT}{line['title'][: _TITLE - 1]:<{_TITLE}}{used:>12}  {first}".rstrip()
        yield from (" " * _TAKEN_AT + rest for rest in more)


def _taken(line: Document) -> str:
    told = [f"{each['count']} x {each['size_ml']} ml" for each in line["packages"]]
    told += [f"{each['count']} {each['grade'] or ''}".strip() for each in line["pieces"]]
    told += [f"{each['count']} of {_size(each)}" for each in line["strips"]]
    return ", ".join(told) or ("" if line["quantity_ml"] else "as needed")


def _size(strip: Document) -> str:
    if strip["width_mm"] is None:
        return f"{strip['length_mm']} mm"
    return f"{strip['length_mm']} x {strip['width_mm']} mm"
