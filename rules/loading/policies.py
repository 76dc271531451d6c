"""Reads policies: what a shop asks of a repair."""

from __future__ import annotations

from rules.conditions import All
from rules.loading.conditions import when_of
from rules.loading.known import Known
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.policies import Policy

LIMITS = ("minimum_saving_pct", "minimum_probability_pct", "maximum_elapsed_min")


def policy_of(entry: Entry, known: Known, report: Report) -> Policy:
    """One policy; every fact in it is one that `known` holds."""
    row = Row(
        entry.node, f"the policy {quoted(entry.name)}", report, ("id", "why", "source"), ("when", *LIMITS)
    )
    if not any(limit in row for limit in LIMITS):
        report.add("R131", row.place, f"a policy that asks for nothing cannot say no; add {_either(LIMITS)}")
    when = row.node("when")
    return Policy(
        id=row.name("id"),
        why=row.text("why"),
        source=row.text("source"),
        when=when_of(when, known, report) if when else All(()),
        minimum_saving_pct=row.optional_number("minimum_saving_pct", at_least=-100, at_most=100),
        minimum_probability_pct=row.optional_number("minimum_probability_pct", at_least=0, at_most=100),
        maximum_elapsed_min=row.optional_number("maximum_elapsed_min", at_least=0),
        place=entry.place,
    )


def _either(names: tuple[str, ...]) -> str:
    return f"{', '.join(names[:-1])} or {names[-1]}"
