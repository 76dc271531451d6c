"""Reads classes of materials."""

from __future__ import annotations

from enum import Enum

from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import choice_of, choices_of
from rules.pack import Material


class _Kind(Enum):
    COATING = "coating"
    FILLER = "filler"
    CLEANER = "cleaner"
    CONSUMABLE = "consumable"


_FIGURES = {
    _Kind.COATING: ("film_um", "volume_solids_pct", "transfer_efficiency_pct", "voc_g_per_l"),
    _Kind.CLEANER: ("use_ml_per_m2", "voc_g_per_l"),
    _Kind.FILLER: (),
    _Kind.CONSUMABLE: (),
}


def material_of(entry: Entry, report: Report) -> Material:
    """One class of consumables, with the figures by which its kind is reckoned."""
    kind_node = entry.node.nodes.get("kind")
    kind = choice_of(kind_node, "'kind'", choices_of(_Kind), report) if kind_node else None
    figures = _FIGURES[kind] if kind else ()
    # Where the kind is at fault, no figure can be called wrong.
    any_figure = () if kind else (*_FIGURES[_Kind.COATING], *_FIGURES[_Kind.CLEANER])
    what = f"the material {quoted(entry.name)}"
    row = Row(entry.node, what, report, ("id", "title", "kind", "source", *figures), any_figure)

    def figure(name: str, at_most: float | None = None) -> float | None:
        return row.number(name, at_least=0, at_most=at_most) if name in figures else None

    return Material(
        id=row.name("id"),
        title=row.text("title"),
        kind=kind.value if kind else "",
        source=row.text("source"),
        film_um=figure("film_um"),
        volume_solids_pct=figure("volume_solids_pct", at_most=100),
        transfer_efficiency_pct=figure("transfer_efficiency_pct", at_most=100),
        voc_g_per_l=figure("voc_g_per_l"),
        use_ml_per_m2=figure("use_ml_per_m2"),
        place=entry.place,
    )
