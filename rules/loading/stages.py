"""Reads the stage catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rules.loading.climate import climate_of
from rules.loading.fact_values import fact_named
from rules.loading.known import Known
from rules.loading.nodes import Items, Node, Scalar
from rules.loading.parameters import MEANT_FOR_PLANNING, parameter_value
from rules.loading.phrases import did_you_mean, quoted
from rules.loading.quantities import amounts_of, check_amounts
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.timing import wait_of, window_of, work_of
from rules.loading.values import Joint, checked_name, text_of
from rules.pack import Check, ParameterValue, Stage
from rules.places import Place
from rules.vocabulary import Fact, Kind, Origin

_REQUIRED = ("id", "title", "phase", "resource", "labour", "instructions", "work", "source")
_OPTIONAL = (
    "after",
    "wait",
    "window",
    "parameters",
    "from_substrate",
    "materials",
    "check",
    "cautions",
    "brings",
    "may_pause",
    "amounts",
)
_BRACES = re.compile(r"\{([^{}]*)\}|[{}]")


def stage_of(entry: Entry, known: Known, report: Report) -> Stage:
    """One stage; every name in it is one that `known` holds."""
    row = Row(entry.node, f"the stage {quoted(entry.name)}", report, _REQUIRED, _OPTIONAL)
    stage = Stage(
        id=row.name("id"),
        title=row.text("title"),
        phase=row.reference("phase", "phase", known.phases, "R120"),
        resource=row.reference("resource", "resource", known.resources, "R120"),
        labour=row.reference("labour", "labour category", known.labour, "R120"),
        instructions=row.texts("instructions", least=1),
        work=work_of(row.node("work"), known, report),
        wait=wait_of(row.node("wait"), report),
        source=row.text("source"),
        after=row.references("after", "stage", known.stage_names, "R116"),
        window=window_of(row.node("window"), known, report),
        parameters=_parameters(row, report),
        from_substrate=_from_substrate(row, known, report),
        materials=row.references("materials", "material", known.materials, "R119"),
        check=_check(row.node("check"), report),
        cautions=row.references("cautions", "caution", known.cautions, "R118"),
        brings=climate_of(row.node("brings"), report),
        may_pause=row.boolean("may_pause") or False,
        amounts=amounts_of(row, known, report),
        place=entry.place,
    )
    _check_parameters(stage, row, report)
    check_amounts(stage, row, report)
    return stage


def _parameters(row: Row, report: Report) -> dict[str, ParameterValue]:
    parameters: dict[str, ParameterValue] = {}
    for name, place, node in row.members("parameters"):
        checked_name(name, place, "the parameter", Joint.SNAKE, report)
        value = parameter_value(name, node, report)
        if value is not None:
            parameters[name] = value
    return parameters


def _from_substrate(row: Row, known: Known, report: Report) -> dict[str, str]:
    """Parameter -> the number fact of the substrate table that fixes it."""
    facts: dict[str, str] = {}
    for parameter, place, node in row.members("from_substrate"):
        checked_name(parameter, place, "the parameter", Joint.SNAKE, report)
        name = text_of(node, f"the fact that fixes {quoted(parameter)}", report)
        fact = fact_named(name, node.place, known, report) if name else None
        if fact is not None and not _is_substrate_number(fact):
            numbers = [each.name for each in known.facts.values() if _is_substrate_number(each)]
            told = f"{quoted(name)} is not a number of the substrate table"
            report.add("R123", node.place, told + (did_you_mean(name, numbers) or "; write one that is"))
        facts[parameter] = name
    return facts


def _is_substrate_number(fact: Fact) -> bool:
    return fact.origin is Origin.SUBSTRATE and fact.kind is Kind.NUMBER


def _check(node: Node | None, report: Report) -> Check | None:
    if node is None:
        return None
    row = Row(node, "'check'", report, ("method", "accept", "otherwise"))
    return Check(row.text("method"), row.text("accept"), row.text("otherwise"))


def _check_parameters(stage: Stage, row: Row, report: Report) -> None:
    """Instructions name parameters that always have a value, every parameter has a use, a bake its heat."""
    known = {*stage.parameters, *stage.from_substrate}
    if stage.wait.heat and "temperature_c" not in known:
        told = "'heat' needs to know how warm; list 'temperature_c' in 'parameters'"
        report.add("R102", row.place_of("wait"), told)
    named: set[str] = set()
    for place, shown, name in _placeholders(row.node("instructions")):
        named.add(name)
        if not name:
            told = "a brace stands alone; write {parameter}, or round brackets for a remark"
            report.add("R129", place, told)
        elif name not in known:
            told = f"{quoted(shown)} stands for no parameter; list it in 'parameters'"
            report.add("R129", place, told + did_you_mean(name, known))
    for name, place, _ in (*row.members("parameters"), *row.members("from_substrate")):
        if name not in named and name not in MEANT_FOR_PLANNING:
            told = f"nothing uses the parameter {quoted(name)}"
            report.add("R133", place, f"{told}; name it in the instructions as {{{name}}}, or take it out")


def _placeholders(instructions: Node | None) -> Iterator[tuple[Place, str, str]]:
    """The place of the text, the placeholder as written, and the parameter that it names."""
    for node in instructions.nodes if isinstance(instructions, Items) else ():
        for brace in _BRACES.finditer(node.text if isinstance(node, Scalar) else ""):
            yield node.place, brace.group(), brace.group(1) or ""
