"""Reads cases."""

from __future__ import annotations

from dataclasses import replace

from rules.cases.model import Case, Expected
from rules.loading.fact_values import values_by_fact
from rules.loading.known import Known
from rules.loading.nodes import Members, Node
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.rules import settings_of
from rules.loading.sections import Entry
from rules.loading.values import members_of, text_of
from rules.pack import Disposition
from rules.vocabulary import Origin

_EXPECTED = ("disposition", "present", "absent", "order", "parameters", "cautions")


def case_of(entry: Entry, known: Known, report: Report) -> Case:
    """One case; every name in it is one that `known` holds, except the material's."""
    what = f"the case {quoted(entry.name)}"
    row = Row(entry.node, what, report, ("name", "given", "expect"))
    given, expect = row.node("given"), row.node("expect")
    facts = members_of(given, "'given'", report) if given else Members(row.place, {}, {})
    if given is facts and "material" not in facts.nodes:
        report.add("R102", facts.place, "'given' lacks 'material'; add the line 'material: ...'")
    material = facts.nodes.get("material")
    others = replace(facts, nodes={name: node for name, node in facts.nodes.items() if name != "material"})
    return Case(
        name=row.text("name"),
        material=text_of(material, "'material'", report) if material else "",
        given=values_by_fact(others, Origin.LINE_ITEM, known, report),
        expected=_expected(expect, known, report) if expect else Expected(),
        place=entry.place,
        places=expect.keys if isinstance(expect, Members) else {},
    )


def _expected(node: Node, known: Known, report: Report) -> Expected:
    found_before = len(report.findings)
    row = Row(node, "'expect'", report, (), _EXPECTED)
    expected = Expected(
        disposition=row.choice("disposition", Disposition),
        present=row.references("present", "stage", known.stage_names, "R116"),
        absent=row.references("absent", "stage", known.stage_names, "R116"),
        order=row.references("order", "stage", known.stage_names, "R116"),
        parameters=settings_of(row, "parameters", known, report),
        cautions=row.references("cautions", "caution", known.cautions, "R118"),
    )
    if expected == Expected() and len(report.findings) == found_before:
        report.add(
            "R131", node.place, "a case that expects nothing cannot fail; add 'disposition' or 'present'"
        )
    asked = {*expected.present, *expected.order, *(stage for stage, _ in expected.parameters)}
    for stage in sorted(asked.intersection(expected.absent)):
        told = f"'{stage}' is expected both present and absent; take one away"
        report.add("R131", row.place_of("absent"), told)
    return expected
