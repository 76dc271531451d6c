"""Reads classes of materials."""

from __future__ import annotations

from enum import Enum

from rules.jurisdictions import TOPCOATS, CoatingRole
from rules.loading.climate import application_of
from rules.loading.kinetics import drying_of, pot_life_of
from rules.loading.known import Known
from rules.loading.mixing import HEAVIEST, LIGHTEST, always_joined, by_volume, mix_of
from rules.loading.nodes import Node
from rules.loading.phrases import quoted
from rules.loading.quantities import losses_of, packages_of
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
_MAY_HAVE = {
    _Kind.COATING: (),
    _Kind.CLEANER: ("called",),
    _Kind.FILLER: ("voc_g_per_l",),
    _Kind.CONSUMABLE: ("use_ml_per_m2", "voc_g_per_l", "lasts_cm2", "graded"),
}
_MIXED = (_Kind.COATING, _Kind.CLEANER)
_ANYTHING = ("mix", *{name for names in (*_FIGURES.values(), *_MAY_HAVE.values()) for name in names})
_REQUIRED = ("id", "title", "kind", "source")
_OPTIONAL = (
    "application",
    "drying",
    "pot_life",
    "coating_role",
    "alternative",
    "density_g_per_ml",
    "packages_ml",
    "losses",
)
_FROM_MIX = ("voc_g_per_l", "density_g_per_ml", "packages_ml")
"""What a mixed material does not state, because it follows from its components or stands with them."""


def material_of(entry: Entry, known: Known, report: Report) -> Material:
    """One class of consumables, with the figures by which its kind is reckoned."""
    kind_node = entry.node.nodes.get("kind")
    kind = choice_of(kind_node, "'kind'", choices_of(_Kind), report) if kind_node else None
    mixed = kind in _MIXED and "mix" in entry.node.nodes
    figures = tuple(name for name in _FIGURES[kind] if not (mixed and name in _FROM_MIX)) if kind else ()
    what = f"the {'mixed ' * mixed}material {quoted(entry.name)}"
    # Where the kind is at fault, no figure can be called wrong.
    optional = (*(_MAY_HAVE[kind] if kind else _ANYTHING), *_OPTIONAL)
    if mixed:
        optional = tuple(name for name in optional if name not in _FROM_MIX)
    row = Row(entry.node, what, report, (*_REQUIRED, *figures, *["mix"] * mixed), optional)

    def figure(name: str, at_least: float = 0, at_most: float | None = None) -> float | None:
        told = name in figures or name in row
        return row.number(name, at_least=at_least, at_most=at_most) if told else None

    mix = mix_of(row, known, report) if mixed else ()
    joined = always_joined(mix)
    voc_g_per_l = by_volume(joined, [each.voc_g_per_l for each in joined])
    density_g_per_ml = by_volume(joined, [each.density_g_per_ml for each in joined])
    by_film, by_humidity = drying_of(row.node("drying"), report)
    return Material(
        id=row.name("id"),
        title=row.text("title"),
        kind=kind.value if kind else "",
        source=row.text("source"),
        film_um=figure("film_um"),
        volume_solids_pct=figure("volume_solids_pct", at_most=100),
        transfer_efficiency_pct=figure("transfer_efficiency_pct", at_most=100),
        voc_g_per_l=voc_g_per_l if mixed else figure("voc_g_per_l"),
        use_ml_per_m2=figure("use_ml_per_m2"),
        coating_role=_role(row.node("coating_role"), report),
        application=application_of(row.node("application"), report),
        by_film=by_film,
        by_humidity=by_humidity,
        pot_life=pot_life_of(row.node("pot_life"), report),
        mix=mix,
        alternative=_alternative(row, known, report),
        density_g_per_ml=density_g_per_ml if mixed else figure("density_g_per_ml", LIGHTEST, HEAVIEST),
        packages_ml=packages_of(row, report),
        lasts_cm2=figure("lasts_cm2", at_least=1),
        graded=bool(row.boolean("graded")),
        losses=losses_of(row, report),
        called=row.text("called") if "called" in row else None,
        place=entry.place,
    )


def _role(node: Node | None, report: Report) -> CoatingRole | None:
    """What a single coating is for; None where it is not said."""
    roles = {role.value: role for role in CoatingRole if role not in TOPCOATS}
    return choice_of(node, "'coating_role'", roles, report) if node else None


def _alternative(row: Row, known: Known, report: Report) -> str | None:
    """Another class for the same use."""
    name = row.optional_reference("alternative", "material", known.materials, "R119")
    if name is not None and name == row.name("id"):
        report.add("R119", row.place_of("alternative"), f"{quoted(name)} names itself; name another class")
    return name
