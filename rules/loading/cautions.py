"""Reads cautions."""

from __future__ import annotations

import re
from enum import Enum

from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.pack import Caution

_REQUIRED = ("id", "title", "signal", "hazard", "protect", "first_measure", "defer", "source")
# Hazard statements of the Globally Harmonized System, with the supplementary EUH ones.
_STATEMENT = re.compile(r"(?:EU)?H[0-9]{3}[A-Za-z]{0,2}")


class _Signal(Enum):
    DANGER = "danger"
    WARNING = "warning"
    NOTICE = "notice"


def caution_of(entry: Entry, report: Report) -> Caution:
    """One caution."""
    row = Row(entry.node, f"the caution {quoted(entry.name)}", report, _REQUIRED, ("ghs",))
    signal = row.choice("signal", _Signal)
    return Caution(
        id=row.name("id"),
        title=row.text("title"),
        signal=signal.value if signal else "",
        hazard=row.text("hazard"),
        protect=row.text("protect"),
        first_measure=row.text("first_measure"),
        defer=row.text("defer"),
        source=row.text("source"),
        ghs=_statements(row, report),
        place=entry.place,
    )


def _statements(row: Row, report: Report) -> tuple[str, ...]:
    statements = row.texts("ghs")
    for statement in statements:
        if not _STATEMENT.fullmatch(statement):
            told = f"{quoted(statement)} is no hazard statement of the GHS; write one such as H334"
            report.add("R104", row.place_of("ghs"), told)
    return statements
