"""Checks that only a whole pack can pass or fail. Every one is a pure function from pack to findings."""

from __future__ import annotations

from rules.checks.circles import circles
from rules.checks.conflicts import conflicts
from rules.checks.doubles import doubles
from rules.checks.identification import identification
from rules.checks.limits import limits
from rules.checks.unused import unused
from rules.checks.windows import windows
from rules.findings import Finding
from rules.pack import Pack


def check_pack(pack: Pack) -> list[Finding]:
    """Everything wrong across a pack. Without layers, it is not measured against the engine's limits."""
    in_tables, cautions_of_tests = identification(pack)
    return [
        *circles(pack),
        *conflicts(pack),
        *doubles(pack),
        *windows(pack),
        *unused(pack, cautions_of_tests),
        *in_tables,
        *(limits(pack) if pack.layers else ()),
    ]
