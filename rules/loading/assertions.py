"""Reads assertions."""

from __future__ import annotations

from rules.assertions.model import Assertion, Bounds, NothingBetween, Pattern
from rules.conditions import All, Value
from rules.loading.conditions import when_of
from rules.loading.known import Known
from rules.loading.nodes import Items, Members, Node
from rules.loading.parameters import parameter_value, parameters_of
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import choice_of, choices_of, is_known
from rules.pack import Disposition, Stage

_PATTERN = (
    "disposition",
    "present",
    "any_of",
    "absent",
    "cautions",
    "parameters",
    "order",
    "nothing_between",
    "no_stages",
)


def assertion_of(entry: Entry, known: Known, report: Report) -> Assertion:
    """One assertion; every name in it is one that `known` holds."""
    optional = ("when", "where", "always", "never")
    row = Row(entry.node, f"the assertion {quoted(entry.name)}", report, ("id", "why", "source"), optional)
    if "always" not in row and "never" not in row:
        report.add("R131", row.place, "an assertion that claims nothing cannot fail; add 'always' or 'never'")
    when = row.node("when")
    return Assertion(
        id=row.name("id"),
        when=when_of(when, known, report) if when else All(()),
        where=_pattern(row, "where", known, report) or Pattern(),
        always=_pattern(row, "always", known, report),
        never=_pattern(row, "never", known, report),
        why=row.text("why"),
        source=row.text("source"),
        place=entry.place,
    )


def _pattern(row: Row, member: str, known: Known, report: Report) -> Pattern | None:
    """What an answer is to look like; None where the member is not there."""
    node = row.node(member)
    if node is None:
        return None
    pattern = Row(node, f"'{member}'", report, (), _PATTERN)
    if not any(name in pattern for name in _PATTERN):
        report.add("R131", node.place, f"'{member}' is empty; add one of {', '.join(_PATTERN)}")
    return Pattern(
        dispositions=_dispositions(pattern.node("disposition"), report),
        present=_stages(pattern, "present", known),
        any_of=_stages(pattern, "any_of", known),
        absent=_stages(pattern, "absent", known),
        cautions=pattern.references("cautions", "caution", known.cautions, "R118"),
        parameters=_parameters(pattern, known, report),
        order=_stages(pattern, "order", known),
        nothing_between=_nothing_between(pattern.node("nothing_between"), known, report),
        no_stages=pattern.boolean("no_stages") or False,
    )


def _stages(row: Row, member: str, known: Known) -> tuple[str, ...]:
    return row.references(member, "stage", known.stage_names, "R116")


def _dispositions(node: Node | None, report: Report) -> tuple[Disposition, ...]:
    """One disposition or a list of them."""
    items = node.nodes if isinstance(node, Items) else (node,)
    read = (choice_of(item, "'disposition'", choices_of(Disposition), report) for item in items if item)
    return tuple(each for each in read if each is not None)


def _nothing_between(node: Node | None, known: Known, report: Report) -> NothingBetween | None:
    if node is None:
        return None
    row = Row(node, "'nothing_between'", report, ("after", "before", "stages"))
    return NothingBetween(*(_stages(row, member, known) for member in ("after", "before", "stages")))


def _parameters(row: Row, known: Known, report: Report) -> dict[tuple[str, str], Value | Bounds]:
    wanted: dict[tuple[str, str], Value | Bounds] = {}
    for key, place, node in row.members("parameters"):
        stage_id, _, parameter = key.partition(".")
        is_known(stage_id, place, "stage", known.stage_names, "R116", report)
        stage = known.stages.get(stage_id)
        if stage and is_known(parameter, place, "parameter", parameters_of(stage), "R117", report):
            value = _wanted(stage, parameter, node, report)
            if value is not None:
                wanted[stage_id, parameter] = value
    return wanted


def _wanted(stage: Stage, parameter: str, node: Node, report: Report) -> Value | Bounds | None:
    """The value of a parameter, or `{at_least: ..., at_most: ...}`."""
    if not isinstance(node, Members):
        return parameter_value(parameter, node, report, like=parameters_of(stage)[parameter])
    row = Row(node, f"the bounds of '{parameter}'", report, (), ("at_least", "at_most"))
    if "at_least" not in row and "at_most" not in row:
        report.add(
            "R108", node.place, f"the bounds of '{parameter}' are empty; write at_least, at_most or both"
        )
    return Bounds(row.optional_number("at_least"), row.optional_number("at_most"))
