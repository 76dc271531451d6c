"""Reads jurisdictions: what they limit, and the cautions that they add."""

from __future__ import annotations

from collections.abc import Mapping

from rules.jurisdictions import Category, CoatingRole, Convention, Jurisdiction
from rules.loading.known import Known
from rules.loading.nodes import Node, is_null
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import choice_of, choices_of, is_known, items_of, reference_of, without_repeats

_REQUIRED = ("id", "title", "edition", "convention", "categories", "over_limit", "source")
_OPTIONAL = ("within", "exempt_compounds", "adds")


def outer_ones(jurisdictions: Mapping[str, Entry]) -> tuple[str, ...]:
    """The names of those that lie within no other; only these may have others within them."""
    return tuple(
        name
        for name, entry in jurisdictions.items()
        if "within" not in entry.node.nodes or is_null(entry.node.nodes["within"])
    )


def jurisdiction_of(entry: Entry, known: Known, report: Report) -> Jurisdiction:
    """One jurisdiction."""
    row = Row(entry.node, f"the jurisdiction {quoted(entry.name)}", report, _REQUIRED, _OPTIONAL)
    convention = row.choice("convention", Convention) or Convention.TOTAL
    categories = tuple(_category(node, convention, report) for node in row.items("categories", least=1))
    _refuse_doubles(categories, row, report)
    if any(category.convention is Convention.LESS_WATER_AND_EXEMPT for category in categories):
        row.require("exempt_compounds")
    return Jurisdiction(
        id=row.name("id"),
        title=row.text("title"),
        edition=row.text("edition"),
        convention=convention,
        categories=categories,
        over_limit=row.references("over_limit", "caution", known.cautions, "R118", least=1),
        source=row.text("source"),
        within=row.optional_reference("within", "outer jurisdiction", known.outer_jurisdictions, "R135"),
        exempt_compounds=row.texts("exempt_compounds"),
        adds=_added(row, known, report),
        place=entry.place,
    )


def _category(node: Node, convention: Convention, report: Report) -> Category:
    """One category; its convention is that of the jurisdiction where it has none of its own."""
    needed = ("id", "title", "roles", "limit_g_per_l", "evidence")
    row = Row(node, "an item of 'categories'", report, needed, ("convention",))
    return Category(
        id=row.name("id"),
        title=row.text("title"),
        roles=_roles(row, report),
        limit_g_per_l=row.number("limit_g_per_l", at_least=0),
        convention=row.choice("convention", Convention) or convention,
        evidence=row.text("evidence"),
    )


def _roles(row: Row, report: Report) -> tuple[CoatingRole, ...]:
    read = [
        (item, choice_of(item, "an item of 'roles'", choices_of(CoatingRole), report))
        for item in row.items("roles", least=1)
    ]
    return without_repeats([(item, role) for item, role in read if role], "'roles'", report)


def _refuse_doubles(categories: tuple[Category, ...], row: Row, report: Report) -> None:
    names = [category.id for category in categories if category.id]
    for name in sorted({name for name in names if names.count(name) > 1}):
        told = f"{quoted(name)} stands in 'categories' a second time; give one of them another name"
        report.add("R107", row.place_of("categories"), told)


def _added(row: Row, known: Known, report: Report) -> dict[str, tuple[str, ...]]:
    """Caution -> the cautions that stand beside it here."""
    added: dict[str, tuple[str, ...]] = {}
    for caution, place, node in row.members("adds"):
        is_known(caution, place, "caution", known.cautions, "R118", report)
        what = f"'adds' of {quoted(caution)}"
        read = [
            (item, reference_of(item, "caution", known.cautions, "R118", report))
            for item in items_of(node, what, report, least=1)
        ]
        added[caution] = without_repeats([(item, name) for item, name in read if name], what, report)
    return added
