"""Reads rules."""

from __future__ import annotations

from collections.abc import Mapping

from rules.conditions import All, Value
from rules.loading.conditions import when_of
from rules.loading.fact_values import values_by_fact
from rules.loading.known import Known
from rules.loading.nodes import Members
from rules.loading.parameters import parameter_value, parameters_of
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import is_known, members_of
from rules.pack import Decide, Disposition, ParameterValue, Rule
from rules.vocabulary import Origin

_REQUIRED = ("id", "when", "why", "source")
_OPTIONAL = ("conclude", "require", "set", "caution", "decide", "overrides")


def rule_of(entry: Entry, known: Known, report: Report) -> Rule:
    """One rule; every name in it is one that `known` holds."""
    row = Row(entry.node, f"the rule {quoted(entry.name)}", report, _REQUIRED, _OPTIONAL)
    when = row.node("when")
    return Rule(
        id=row.name("id"),
        when=when_of(when, known, report) if when else All(()),
        why=row.text("why"),
        source=row.text("source"),
        conclude=_conclusions(row, known, report),
        require=row.references("require", "stage", known.stage_names, "R116"),
        settings=_set(row, known, report),
        cautions=row.references("caution", "caution", known.cautions, "R118"),
        decide=_decide(row, report),
        overrides=row.references("overrides", "rule", known.rules, "R121"),
        place=entry.place,
    )


def settings_of(row: Row, name: str, known: Known, report: Report) -> dict[tuple[str, str], ParameterValue]:
    """The member `name` of a rule or case: `stage.parameter: value`."""
    settings: dict[tuple[str, str], ParameterValue] = {}
    for key, place, node in row.members(name):
        stage_id, _, parameter = key.partition(".")
        is_known(stage_id, place, "stage", known.stage_names, "R116", report)
        stage = known.stages.get(stage_id)
        if stage is None:
            continue
        parameters = parameters_of(stage)
        if is_known(parameter, place, "parameter", parameters, "R117", report):
            value = parameter_value(parameter, node, report, like=parameters[parameter])
            if value is not None:
                settings[stage_id, parameter] = value
    return settings


def _set(row: Row, known: Known, report: Report) -> Mapping[tuple[str, str], ParameterValue]:
    settings = settings_of(row, "set", known, report)
    for stage_id, parameter in settings:
        fact = known.stages[stage_id].from_substrate.get(parameter)
        if fact is not None:
            told = f"the substrate fixes '{parameter}' of '{stage_id}' by its fact '{fact}'"
            report.add("R134", row.place_of("set"), f"{told}; no rule can set it, take it out")
    return settings


def _conclusions(row: Row, known: Known, report: Report) -> Mapping[str, Value]:
    node = row.node("conclude")
    members = members_of(node, "'conclude'", report) if node else Members(row.place, {}, {})
    return values_by_fact(members, Origin.RULES, known, report)


def _decide(row: Row, report: Report) -> Decide | None:
    node = row.node("decide")
    if node is None:
        return None
    decide = Row(node, "'decide'", report, ("disposition", "reason"))
    disposition = decide.choice("disposition", Disposition)
    return Decide(disposition, decide.text("reason")) if disposition else None
