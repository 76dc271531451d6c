"""Reads assertions."""

from __future__ import annotations

from rules.assertions.model import Assertion, Bounds, Carry, NothingBetween, Pattern
from rules.conditions import All, Value
from rules.loading.conditions import when_of
from rules.loading.known import Known
from rules.loading.nodes import Items, Members, Node, is_null
from rules.loading.parameters import parameter_value, parameters_of
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import Entry
from rules.loading.values import choice_of, choices_of, is_known, items_of, without_repeats
from rules.pack import Disposition, Stage

_ANSWER = ("disposition", "reasons", "present", "any_of", "absent", "cautions", "no_stages")
# These hold of stages that are not there, so they can be claimed, but neither be presupposed nor denied.
_OF_STAGES = ("parameters", "order", "nothing_between", "carry")


def assertion_of(entry: Entry, known: Known, report: Report) -> Assertion:
    """One assertion; every name in it is one that `known` holds."""
    optional = ("when", "where", "always", "never", "overlays_may_differ")
    row = Row(entry.node, f"the assertion {quoted(entry.name)}", report, ("id", "why", "source"), optional)
    if "always" not in row and "never" not in row:
        report.add("R131", row.place, "an assertion that claims nothing cannot fail; add 'always' or 'never'")
    when = row.node("when")
    return Assertion(
        id=row.name("id"),
        when=when_of(when, known, report) if when else All(()),
        where=_pattern(row, "where", _ANSWER, known, report) or Pattern(),
        always=_pattern(row, "always", (*_ANSWER, *_OF_STAGES), known, report),
        never=_pattern(row, "never", _ANSWER, known, report),
        why=row.text("why"),
        source=row.text("source"),
        stands_under_overlays=not row.boolean("overlays_may_differ"),
        place=entry.place,
    )


def _pattern(row: Row, member: str, members: tuple[str, ...], known: Known, report: Report) -> Pattern | None:
    """What an answer is to look like; None where the member is not there."""
    node = row.node(member)
    if node is None:
        return None
    pattern = Row(node, f"'{member}'", report, (), members)
    if isinstance(node, Members) and not node.nodes:
        report.add("R131", node.place, f"'{member}' is empty; add one of {', '.join(members)}")
    return Pattern(
        dispositions=_dispositions(pattern.node("disposition"), report),
        reasons=pattern.references("reasons", "rule", known.rules, "R121", least=1),
        present=_stages(pattern, "present", known),
        any_of=_stages(pattern, "any_of", known),
        absent=_stages(pattern, "absent", known),
        cautions=pattern.references("cautions", "caution", known.cautions, "R118", least=1),
        no_stages=_no_stages(pattern, report),
        parameters=_parameters(pattern, known, report),
        order=_stages(pattern, "order", known, least=2),
        nothing_between=_nothing_between(pattern.node("nothing_between"), known, report),
        carry=_carry(pattern.node("carry"), known, report),
    )


def _stages(row: Row, member: str, known: Known, least: int = 1) -> tuple[str, ...]:
    return row.references(member, "stage", known.stage_names, "R116", least)


def _dispositions(node: Node | None, report: Report) -> tuple[Disposition, ...]:
    """One disposition or a list of them."""
    if node is None:
        return ()
    items = items_of(node, "'disposition'", report, least=1) if isinstance(node, Items) else (node,)
    read = [(item, choice_of(item, "'disposition'", choices_of(Disposition), report)) for item in items]
    return without_repeats([(item, each) for item, each in read if each], "'disposition'", report)


def _no_stages(row: Row, report: Report) -> bool:
    if row.boolean("no_stages") is False:
        report.add("R131", row.place_of("no_stages"), "'no_stages: false' claims nothing; take it out")
    return "no_stages" in row


def _nothing_between(node: Node | None, known: Known, report: Report) -> NothingBetween | None:
    if node is None:
        return None
    row = Row(node, "'nothing_between'", report, ("after", "before", "stages"))
    return NothingBetween(*(_stages(row, member, known) for member in ("after", "before", "stages")))


def _carry(node: Node | None, known: Known, report: Report) -> Carry | None:
    if node is None:
        return None
    row = Row(node, "'carry'", report, ("cautions",), ("stages", "users_of"))
    if "stages" not in row and "users_of" not in row:
        report.add("R131", node.place, "'carry' names no stages; add 'stages', 'users_of' or both")
    return Carry(
        stages=_stages(row, "stages", known),
        users_of=row.references("users_of", "material", known.materials, "R119", least=1),
        cautions=row.references("cautions", "caution", known.cautions, "R118", least=1),
    )


def _parameters(row: Row, known: Known, report: Report) -> dict[tuple[str, str], Value | Bounds | None]:
    """What is wanted of each parameter; None, written null: that nobody sets it."""
    wanted: dict[tuple[str, str], Value | Bounds | None] = {}
    for key, place, node in row.members("parameters"):
        stage_id, _, parameter = key.partition(".")
        is_known(stage_id, place, "stage", known.stage_names, "R116", report)
        stage = known.stages.get(stage_id)
        if stage and is_known(parameter, place, "parameter", parameters_of(stage), "R117", report):
            wanted[stage_id, parameter] = _wanted(stage, parameter, node, report)
    return wanted


def _wanted(stage: Stage, parameter: str, node: Node, report: Report) -> Value | Bounds | None:
    """The value of a parameter, `{at_least: ..., at_most: ...}`, or null."""
    if is_null(node):
        return None
    like = parameters_of(stage)[parameter]
    if not isinstance(node, Members):
        return parameter_value(parameter, node, report, like=like)
    row = Row(node, f"the bounds of '{parameter}'", report, (), ("at_least", "at_most"))
    low, high = row.optional_number("at_least"), row.optional_number("at_most")
    if isinstance(like, (bool, str)):
        report.add("R114", node.place, f"'{parameter}' is no number and has no bounds; write a value")
    if low is None and high is None:
        told = f"the bounds of '{parameter}' are empty; write at_least, at_most or both"
        report.add("R108", node.place, told)
    if low is not None and high is not None and low > high:
        report.add("R127", node.place, f"'at_least' {low:g} is above 'at_most' {high:g}; exchange them")
    return Bounds(low, high)
