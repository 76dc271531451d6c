"""Reads `pack.yaml`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from rules.loading.composing import compose
from rules.loading.nodes import Members, Scalar, is_null
from rules.loading.phrases import quoted
from rules.loading.report import Report, TooManyFindings
from rules.loading.row import Row
from rules.loading.sections import HEADER, HEADER_FILE, Source
from rules.loading.values import Joint, date_of, items_of, name_of, without_repeats

_REQUIRED = ("name", "version", "title", "effective_from")


@dataclass(frozen=True)
class Header:
    """Who a pack is and when it holds. A date at fault is None, and then no pack is built."""

    name: str
    version: str
    title: str
    effective_from: date | None
    effective_until: date | None


def name_and_extends(text: str) -> tuple[str, str | None]:
    """`name` and `extends` of a `pack.yaml`, ahead of all checks; "" and None where it has none."""
    try:
        root = compose(text, HEADER_FILE, "", Report())
    except TooManyFindings:
        return "", None
    pack = root.nodes.get("pack") if isinstance(root, Members) else None
    nodes = pack.nodes if isinstance(pack, Members) else {}
    name, extends = nodes.get("name"), nodes.get("extends")
    return (
        name.text if isinstance(name, Scalar) else "",
        extends.text if isinstance(extends, Scalar) and not is_null(extends) else None,
    )


def header_of(source: Source, below: Sequence[str], report: Report) -> Header:
    """The `pack` block of a source that is laid on the packs named `below`, lowest first."""
    node = source.header.get("pack")
    if node is None:
        report.add_gap(
            "R019", source.place, f"{HEADER_FILE} lacks 'pack'; add it with {', '.join(_REQUIRED)}"
        )
        return Header("", "", "", None, None)
    row = Row(node, "'pack'", report, _REQUIRED, ("effective_until", "extends"))
    header = Header(
        name=row.name("name"),
        version=row.text("version"),
        title=row.text("title"),
        effective_from=_date(row, "effective_from", report),
        effective_until=_date(row, "effective_until", report),
    )
    if header.effective_from and header.effective_until and header.effective_until < header.effective_from:
        told = f"'effective_until' {header.effective_until} is before 'effective_from'; exchange them"
        report.add("R127", row.place_of("effective_until"), told)
    if header.name in below:
        told = f"a pack below is called {quoted(header.name)} too; give this one another name"
        report.add_gap("R140", row.place_of("name"), told)
    _check_extends(row, below, report)
    return header


def closed_lists(source: Source, report: Report) -> dict[str, tuple[str, ...]]:
    """`phases`, `resources` and `labour` of the base pack, in their order."""
    return {key: _names(source, key, report) for key in HEADER[1:]}


def _names(source: Source, key: str, report: Report) -> tuple[str, ...]:
    node = source.header.get(key)
    if node is None:
        report.add_gap(
            "R019", source.place, f"a base pack needs '{key}' in {HEADER_FILE}; add '{key}: [...]'"
        )
        return ()
    what = f"an item of '{key}'"
    read = [
        (item, name_of(item, what, Joint.KEBAB, report))
        for item in items_of(node, f"'{key}'", report, least=1)
    ]
    return without_repeats([(item, name) for item, name in read if name], f"'{key}'", report)


def _date(row: Row, name: str, report: Report) -> date | None:
    node = row.node(name)
    return date_of(node, f"'{name}'", report) if node else None


def _check_extends(row: Row, below: Sequence[str], report: Report) -> None:
    extends = row.text("extends")
    if not below:
        if extends:
            told = f"the pack {quoted(extends)} is not there to be extended"
            report.add_gap("R140", row.place_of("extends"), f"{told}; write 'extends: base', or leave it out")
    elif extends != below[-1]:
        told = f"the pack below is called {quoted(below[-1])}"
        report.add_gap("R140", row.place_of("extends"), f"{told}; write 'extends: {below[-1]}'")
